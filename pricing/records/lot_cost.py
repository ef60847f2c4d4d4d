"""What a lot cost, and how that is divided over its units."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field

from pricing.records.base import Record
from pricing.records.exact import ExactDecimal
from pricing.records.money import Money
from pricing.records.purchase import Proof, Way

Amount = Annotated[ExactDecimal, Field(ge=0)]
Split = Literal["equal", "value", "hand"]


class LotCost(Record):
    """A lot that was bought.

    Attributes:
        number: The shop's own number for it.
        on: Day on which it was paid.
        price: What its seller got, for all units.
        premium: What the auctioneer took on top, in the currency of the price. It is a service, no part of the price
            that a margin is counted from; who is billed otherwise adds it to the price.
        postage, import_tax: What else was paid for the lot, in the currency of the price.
        charged: What bank or card really took for everything, in the base currency; None: not known.
        units: Numbers of the stored units, at least one.
        split: equal; value: by what each unit is expected to bring net; hand: by the shares given.
        amounts: For value and hand one amount for each unit, in its order; by hand they sum to the price.
        itemised: The seller's paper states a price for each unit.
        way, proof: How it was bought, written to each unit; None: stays as it is.
    """

    number: Annotated[str, Field(min_length=1, max_length=200)]
    on: date
    price: Money
    premium: Amount = Decimal(0)
    postage: Amount = Decimal(0)
    import_tax: Amount = Decimal(0)
    charged: Money | None = None
    units: Annotated[tuple[str, ...], Field(min_length=1)]
    split: Split = "equal"
    amounts: tuple[Money, ...] = ()
    itemised: bool = False
    way: Way | None = None
    proof: Proof | None = None
