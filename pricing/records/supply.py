"""The mains supply or charger that may go with a unit."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from pricing.records.base import Record


class Supply(Record):
    """A mains supply or charger, looked at before it is put in with a unit.

    Attributes:
        maker: The unit's own maker, another, or not known.
        watts: Power that it is marked with.
        plug: Kind of mains plug.
        marked: It bears maker, voltage, current and the marks that the country asks for.
        damaged: Cable, plug or case is broken, bare or burnt.
    """

    maker: Literal["own", "other", "not known"]
    watts: float | None = Field(default=None, gt=0, le=2000)
    plug: str | None = None
    marked: bool
    damaged: bool

    @property
    def may_go_along(self) -> bool:
        """Whether it may be sold with a unit: that it fits does not make it safe."""
        return self.marked and not self.damaged and self.maker != "not known"
