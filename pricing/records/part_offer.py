"""Where a part can be had, at what price, or that it cannot be had at all."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Literal

from pydantic import Field, model_validator

from pricing.records.base import Record
from pricing.records.money import Money
from pricing.records.plan import Chance

Availability = Literal["yes", "no", "donor"]
Quality = Literal["original", "third-party", "salvaged"]


class PartOffer(Record):
    """One row of a parts list.

    Attributes:
        part: Name of the part in the device class.
        source: Shop, shelf or donor; with ``available`` no: the place that was looked at.
        available: yes; no: it was looked for here and not found; donor: it comes out of another unit.
        checked_on: Day of that.
        price, postage: For one piece, and for the order; in the plan's currency. None where not available.
        quoted: The price as it stands in the list, in its own currency.
        min_order: Fewest pieces that are sold.
        pieces: How many there are; None: as many as wanted.
        lead_days: Of waiting.
        quality: Of the part.
        variant: Colour, region, revision; None: not said.
        doa_share: Share of pieces that are dead on arrival.
        success, minutes: Of the repair with it, where the list says so; else the terms'.
        line: Its line in the file.
    """

    part: str
    source: str
    available: Availability = "yes"
    checked_on: date | None = None
    price: Money | None = None
    postage: Money | None = None
    quoted: Money | None = None
    min_order: int = Field(default=1, ge=1)
    pieces: int | None = Field(default=None, ge=1)
    lead_days: float = Field(default=0, ge=0)
    quality: Quality = "third-party"
    variant: str | None = None
    doa_share: Chance = 0.0
    success: Chance | None = None
    minutes: float | None = Field(default=None, ge=0)
    line: int | None = None

    @model_validator(mode="after")
    def _has_a_price(self) -> PartOffer:
        if self.available == "yes" and self.price is None:
            raise ValueError(f"{self.part} from {self.source} is available and has no price")
        return self

    def cost(self, surplus_share: float) -> Decimal:
        """Return what one piece costs with postage and the fewest pieces that are sold.

        Args:
            surplus_share: Share of the price of the pieces not needed that is not lost (they go on stock).
        """
        if self.price is None:
            return Decimal(0)
        lost = Decimal(self.min_order - 1) * (1 - Decimal(repr(surplus_share)))
        return self.price.amount * (1 + lost) + (self.postage.amount if self.postage else Decimal(0))
