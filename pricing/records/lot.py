"""A lot that is not yet bought: what it costs beside its hammer price, and the most to bid for it."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated

from pydantic import Field

from pricing.records.base import Record
from pricing.records.exact import ExactDecimal
from pricing.records.money import Currency, Money

Percent = Annotated[ExactDecimal, Field(ge=0, le=1000)]
Amount = Annotated[ExactDecimal, Field(ge=0)]


class LotTerms(Record):
    """What a lot costs beside its hammer price.

    Attributes:
        currency: Of all amounts.
        premium_percent: The buyer's premium, of the hammer price.
        premium_tax_percent: Tax on the premium that does not come back.
        hammer_tax_percent: Tax on the hammer price that does not come back.
        import_percent: Duty and import tax that does not come back, of hammer price and premium.
        fixed: Other amounts that do not depend on the price: entry, handling.
        carriage: Of the whole lot to the shop.
        minutes: At the bench for each unit that is there: sorting, testing, listing.
        hour_cost: What an hour at the bench costs.
    """

    currency: Currency
    premium_percent: Percent = Decimal(0)
    premium_tax_percent: Percent = Decimal(0)
    hammer_tax_percent: Percent = Decimal(0)
    import_percent: Percent = Decimal(0)
    fixed: Amount = Decimal(0)
    carriage: Amount = Decimal(0)
    minutes: Annotated[float, Field(ge=0)] = 0.0
    hour_cost: Amount = Decimal(0)


class BidPoint(Record):
    """What is to be expected at one hammer price, when the lot is won at it.

    Attributes:
        hammer: The price.
        cost: All that is paid then, bench hours of all units included.
        loss: Chance of losing money.
        profit: Expected.
        low_80, high_80: 80 of 100 like lots end between them.
    """

    hammer: Money
    cost: Money
    loss: float
    profit: Money
    low_80: Money
    high_80: Money


class LotBid(Record):
    """The most to bid for a lot.

    Attributes:
        bid: Highest hammer price with at most the accepted chance of losing money; 0 when even a gift has more.
        accepted: That chance.
        rivals: How many others bid, each with an error of their own.
        unshaded: The bid if winning told nothing.
        at_bid: What is to be expected at the bid.
        curve: The same at other hammer prices, ascending.
        worth: Expected net of the lot before any cost, if winning told nothing.
        draws: On how many draws all of this rests.
        assumes: What was taken to be so.
    """

    bid: Money
    accepted: float
    rivals: int
    unshaded: Money
    at_bid: BidPoint
    curve: tuple[BidPoint, ...]
    worth: Money
    draws: int
    assumes: tuple[str, ...]
