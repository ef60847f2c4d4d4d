"""Tax on sales: the shop's position, the dated rates and limits of a country, and what a rule came to."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import Annotated, Literal, Protocol, TypeVar

from pydantic import Field

from pricing.errors import NotFound
from pricing.records.base import Record
from pricing.records.exact import ExactDecimal
from pricing.records.money import Currency, Money
from pricing.records.purchase import Purchase

TaxKind = Literal["VAT", "GST"]
Scheme = Literal["none", "full price", "margin", "pooled margin", "second-hand credit", "divided lot"]

ADVISER = "This is a calculation, not advice: whether the rule applies to you is for a tax adviser to decide."


class TaxPosition(Record):
    """Where the shop stands with tax.

    Attributes:
        kind: VAT or GST; None: the shop is not registered for either.
        country: Two letters, as the file of rates is named ("gb"); None without a kind.
        pooled: Margins are counted together by period, for units whose purchase price is within the limit.
        on_full_price: The usual rules for every unit, although another scheme would be allowed.
    """

    kind: TaxKind | None = None
    country: str | None = None
    pooled: bool = False
    on_full_price: bool = False


NOT_REGISTERED = TaxPosition()


class DatedPercent(Record):
    """A rate from a day on, until the next one.

    Attributes:
        starts: First day.
        percent: Rate in percent of the price without tax.
        source: Where it was found.
    """

    starts: date
    percent: Annotated[ExactDecimal, Field(ge=0, lt=100)]
    source: Annotated[str, Field(min_length=1)]


class DatedAmount(Record):
    """A limit from a day on, until the next one, in the country's currency; as ``DatedPercent``."""

    starts: date
    amount: Annotated[ExactDecimal, Field(gt=0)]
    source: Annotated[str, Field(min_length=1)]


class _Dated(Protocol):
    @property
    def starts(self) -> date:
        """First day."""
        ...


Row = TypeVar("Row", bound=_Dated)


class TaxTable(Record):
    """The dated rates and limits of one country.

    Attributes:
        country: Two letters, small.
        title: The country's name.
        kind: VAT or GST.
        currency: Of the limits.
        looked_up_on: Day on which the file was last compared with its sources; None: never.
        rates: The standard rate, by day.
        pool_limits: Dearest purchase that may enter the pool of margins, by day; empty: none is known.
        credit_limits: Dearest purchase whose credit does not depend on the sale, by day (GST).
    """

    country: str
    title: str
    kind: TaxKind
    currency: Currency
    looked_up_on: date | None = None
    rates: tuple[DatedPercent, ...]
    pool_limits: tuple[DatedAmount, ...] = ()
    credit_limits: tuple[DatedAmount, ...] = ()

    @property
    def standing(self) -> str:
        """How far the rates can be relied on, in words."""
        compared = "nobody has compared them with a source yet"
        if self.looked_up_on is not None:
            compared = f"they were last compared with their sources on {self.looked_up_on}"
        return f"the rates of {self.title} still hold; {compared}"

    def percent_on(self, day: date) -> Decimal:
        """Return the rate of a day in percent.

        Raises:
            NotFound: The table begins later.
        """
        return self._row_on(self.rates, day, f"{self.kind} rate").percent

    def pool_limit_on(self, day: date) -> Money:
        """Return the dearest purchase that may enter the pool on a day.

        Raises:
            NotFound: The table names no limit for the day.
        """
        row = self._row_on(self.pool_limits, day, "limit for pooled margins")
        return Money(amount=row.amount, currency=self.currency)

    def credit_limit_on(self, day: date) -> Money:
        """Return the dearest purchase whose credit does not depend on the sale.

        Raises:
            NotFound: The table names no limit for the day.
        """
        row = self._row_on(self.credit_limits, day, "limit for credits on second-hand goods")
        return Money(amount=row.amount, currency=self.currency)

    def _row_on(self, rows: Sequence[Row], day: date, what: str) -> Row:
        """Return the last row that begins on or before ``day``.

        Raises:
            NotFound: There is none.
        """
        begun = [row for row in rows if row.starts <= day]
        if begun:
            return max(begun, key=lambda row: row.starts)
        first = min((row.starts for row in rows), default=None)
        known = "it names none at all" if first is None else f"its first begins on {first}"
        raise NotFound(f"tax rates of {self.title}: no {what} for {day}; {known}")


class TaxResult(Record):
    """What a rule comes to for one sale. Every amount is 0 or more.

    Attributes:
        scheme: Which scheme was followed.
        rule: The rule in words, with its source.
        taxable: What the tax is a part of: the margin, or the whole price.
        percent: Rate on the day of the sale.
        output_tax: Tax in the sale.
        credit: What the purchase takes off it and depends on the sale; tax that comes back in any case stands
            with its cost in the ledger.
        on_invoice: Whether the invoice to the buyer shows the tax.
        assumes: What was taken to be so.
        adviser: Who decides.
    """

    scheme: Scheme
    rule: str
    taxable: Money
    percent: Decimal
    output_tax: Money
    credit: Money
    on_invoice: bool
    assumes: tuple[str, ...]
    adviser: str = ADVISER


class PoolItem(Record):
    """A unit that was bought for the pool of margins.

    Attributes:
        number: The unit's number.
        cost: What was paid for it.
        purchase: How it was bought; None: nobody knows.
    """

    number: str
    cost: Money
    purchase: Purchase | None


class PoolPeriod(Record):
    """What was bought and sold in one period, as far as it belongs to the pool.

    Attributes:
        starts, ends: First and last day.
        bought: Units bought in the period, sold or not.
        sales: What buyers paid in the period.
        brought_forward: Excess of purchases from the period before, 0 or more.
    """

    starts: date
    ends: date
    bought: tuple[PoolItem, ...] = ()
    sales: tuple[Money, ...] = ()
    brought_forward: Money


class PoolResult(Record):
    """The margins of one period counted together.

    Attributes:
        margin: Sales less purchases and what was brought forward; 0 when that is below 0.
        tax: Tax in the margin.
        carried_forward: Excess of purchases, taken into the next period; never paid out.
        percent: Rate of the period.
        rule, assumes, adviser: As in ``TaxResult``.
    """

    margin: Money
    tax: Money
    carried_forward: Money
    percent: Decimal
    rule: str
    assumes: tuple[str, ...]
    adviser: str = ADVISER
