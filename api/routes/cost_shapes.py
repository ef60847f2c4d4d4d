"""What the service takes and gives about costs, lots and proceeds, where a record alone does not say it."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated

from pydantic import Field

from api.routes.shapes import Shape
from pricing.records.cost import Basis, NewCost, NumberedEntry, Profit
from pricing.records.lot_cost import LotCost
from pricing.records.money import Currency, Money
from pricing.records.proceeds import NetProceeds
from pricing.records.purchase import Purchase
from pricing.records.tax import PoolPeriod


class CostToKeep(Shape):
    """A cost to write down.

    Attributes:
        unit_number: Number of the stored unit.
        cost: What was paid.
        base: Currency of the ledger, where it has none yet.
        purchase: How the unit was bought, written to the unit in the same step.
    """

    unit_number: str
    cost: NewCost
    base: Currency | None = None
    purchase: Purchase | None = None


class CostToTakeBack(Shape):
    """An entry to take back; ``on`` None: from the day of the entry itself."""

    unit_number: str
    reason: str = Field(min_length=1, max_length=500)
    on: date | None = None


class CostShape(Shape):
    """An entry that was written, and the basis after it."""

    entry: NumberedEntry
    basis: Basis
    notices: tuple[str, ...] = ()


class BasisShape(Shape):
    """What a unit has cost; None while nothing is written down."""

    basis: Basis | None


class LotToDivide(Shape):
    """A lot whose costs go into the ledgers of its units; ``base``: currency of ledgers that have none yet."""

    lot: LotCost
    base: Currency | None = None


class UnitsScrapped(Shape):
    """Units of a lot that hand their costs on."""

    units: tuple[str, ...] = Field(min_length=1, max_length=2_000)
    on: date | None = None
    reason: str = Field(default="", max_length=500)


class LotSharesShape(Shape):
    """What each unit carries of a lot, and the sum."""

    lot: str
    shares: dict[str, Money]
    total: Money


class SaleTermsShape(Shape):
    """How a sale is thought of.

    Attributes:
        channel: Name of the channel.
        unit_number: Number of the stored unit; without it there is no basis and no purchase.
        zone: Where it is sent; without it the channel's first zone.
        tax: Country whose tax is charged; without it the shop is not registered.
        pooled: Margins are counted together by period.
        on_full_price: The usual rules, although a scheme for second-hand goods would be allowed.
        lot_credits: What is left in the pool of credits of divided lots (GST).
        on: Day of the sale; without it today.
    """

    channel: str
    unit_number: str | None = None
    zone: str | None = None
    tax: str | None = None
    pooled: bool = False
    on_full_price: bool = False
    lot_credits: Money | None = None
    on: date | None = None


class SaleShape(SaleTermsShape):
    """A sale at a price, to be counted."""

    price: Money


class OutlookShape(Shape):
    """What a sale would leave, the price at which all costs come back, and the profit over them."""

    proceeds: NetProceeds
    break_even: Money | None
    profit: Profit | None
    notices: tuple[str, ...]


class CounterShape(Shape):
    """A price that could be named, and the chance that the buyer takes it."""

    price: Money
    chance: Annotated[Decimal, Field(ge=0, le=1)]


class OfferShape(SaleTermsShape):
    """An offer to be answered.

    Attributes:
        offer: What the buyer offers.
        waiting: Expected net of going on without this buyer, holding costs taken off.
        ask: What is asked; prices up to it are tried as counters with supposed chances.
        counters: Prices with known chances instead.
        stands: Chance that the offer still stands after a counter was refused.
    """

    offer: Money
    waiting: Money
    ask: Money | None = None
    counters: tuple[CounterShape, ...] = Field(default=(), max_length=200)
    stands: Annotated[Decimal, Field(ge=0, le=1)] = Decimal(0)


class PoolShape(Shape):
    """A period of pooled margins, and the country whose tax is counted."""

    period: PoolPeriod
    tax: str


class ChannelsShape(Shape):
    """The names of the channels there are."""

    channels: tuple[str, ...]
