"""A part that lies on the shelf already."""

from __future__ import annotations

from pydantic import Field

from pricing.records.base import Record
from pricing.records.money import Money
from pricing.records.part_offer import Quality


class StockPart(Record):
    """One row of the stock of parts.

    Attributes:
        part: Name of the part in the device class.
        cost: What one piece cost, in the plan's currency.
        worth: What one piece would bring, sold or used elsewhere; None: what it cost.
        pieces: How many there are.
        quality: Of the part.
        fits: Group attribute -> the level that a unit needs for it, such as model -> Q2; empty: fits every unit.
        variant: Colour, region, revision; None: not said.
        line: Its line in the file.
    """

    part: str
    cost: Money
    worth: Money | None = None
    pieces: int = Field(default=1, ge=1, le=100_000)
    quality: Quality = "third-party"
    fits: dict[str, str] = Field(default_factory=dict)
    variant: str | None = None
    line: int | None = None

    @property
    def given_up(self) -> Money:
        """What a shop gives up with a piece: what it would bring; where that is not known, what it cost."""
        return self.cost if self.worth is None else self.worth
