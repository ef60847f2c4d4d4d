"""What may be wrong with the units of a lot that nobody has tested: what is believed, and what was found before."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from pricing.records.base import Record

Share = Annotated[float, Field(ge=0, le=1)]
Count = Annotated[int, Field(ge=0)]
_ROUNDING = 1e-9


class FaultShares(Record):
    """Of 100 units whose function nobody has tested, how many turn out so, as shares; the rest works."""

    dead: Share = 0.03
    impaired: Share = 0.03

    @model_validator(mode="after")
    def _is_a_whole(self) -> FaultShares:
        if self.dead + self.impaired > 1 + _ROUNDING:
            raise ValueError(f"dead and impaired sum to {self.dead + self.impaired:g}; expected at most 1")
        return self


class LotRates(Record):
    """What is believed of lots before the shop's own history speaks. The defaults are common practice, no source.

    Attributes:
        missing: Share of the units named that are not there.
        swapped: Share that is another, lesser thing than was named.
        swapped_worth: What such a unit brings, as a share of the one named.
        locked: Share that a lock holds which nobody can lift: sold for parts.
        gates: Of a function without which others cannot be tested.
        functions: Of any other function.
        own: Function -> its own shares, instead of those two.
        weight: How many units of own history these beliefs are worth.
    """

    missing: Share = 0.02
    swapped: Share = 0.02
    swapped_worth: Share = 0.5
    locked: Share = 0.05
    gates: FaultShares = FaultShares(dead=0.08, impaired=0.04)
    functions: FaultShares = FaultShares()
    own: dict[str, FaultShares] = Field(default_factory=dict)
    weight: Annotated[float, Field(gt=0, le=100_000)] = 30.0

    @model_validator(mode="after")
    def _is_a_whole(self) -> LotRates:
        total = self.missing + self.swapped + self.locked
        if total > 1 + _ROUNDING:
            raise ValueError(f"missing, swapped and locked sum to {total:g}; expected at most 1")
        return self


class FaultCounts(Record):
    """How often a function of bought units turned out so, once it was tested."""

    works: Count = 0
    impaired: Count = 0
    dead: Count = 0


class LotHistory(Record):
    """What the shop found in lots that it bought.

    Attributes:
        units: Units named in the descriptions of those lots.
        missing, swapped, locked: How many of them were so.
        functions: Function -> what tests found where the description was silent.
    """

    units: Count = 0
    missing: Count = 0
    swapped: Count = 0
    locked: Count = 0
    functions: dict[str, FaultCounts] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _is_a_whole(self) -> LotHistory:
        total = self.missing + self.swapped + self.locked
        if total > self.units:
            raise ValueError(f"{total} units missing, swapped or locked; expected at most the {self.units} units")
        return self
