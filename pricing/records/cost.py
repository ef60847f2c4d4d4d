"""A unit's ledger: every cost with its day, currency, rate and reason. Entries are added, never changed."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field

from pricing.records.base import Record
from pricing.records.exact import ExactDecimal
from pricing.records.money import Currency, Money

CostKind = Literal[
    "purchase", "lot share", "scrapped share", "part", "postage", "work", "service", "import tax", "other"
]  # fmt: skip
RateOrigin = Literal["same currency", "charged", "reference"]

# What was paid to the seller of the unit; the margin and the credit for second-hand goods depend on it. What a scrapped
# unit of the same lot handed on raises the basis, but was not paid for this unit: it lowers no tax.
PAID_TO_SELLER: tuple[CostKind, ...] = ("purchase", "lot share")

Reason = Annotated[str, Field(min_length=1, max_length=500)]


class ReferenceRate(Record):
    """A published rate.

    Attributes:
        rate: Base currency for one unit of the currency paid.
        day: Day that it was published for.
    """

    rate: Annotated[Decimal, Field(gt=0)]
    day: date


class NewCost(Record):
    """A cost as a user states it.

    Attributes:
        kind: What it was for.
        on: Day on which it was paid.
        paid: Amount and currency as paid, above 0, tax in it.
        charged: What bank or card really took in the base currency; None: not known, the published rate is used.
        tax_back: Tax in ``paid`` that comes back in any case (input tax), in the currency paid.
        refund: Money that came back for a cost of this kind, not a cost.
        reason: Why, in the user's words.
    """

    kind: CostKind
    on: date
    paid: Money
    charged: Money | None = None
    tax_back: Annotated[ExactDecimal, Field(ge=0)] = Decimal(0)
    refund: bool = False
    reason: Reason


class LedgerEntry(Record):
    """One line of a ledger.

    Attributes:
        kind, on, reason: As stated.
        paid: Amount and currency as paid; below 0 when money came back or an entry is taken back.
        rate: Base currency for one unit of the currency paid.
        rate_origin: same currency; charged: what the bank really took; reference: published.
        rate_on: Day that a published rate is for; None with the others.
        reference: Published rate of the day, kept beside one really charged; None: not looked up.
        amount: The cost in the base currency, rounded to its minor unit, tax in it.
        tax_back: Tax in ``amount`` that comes back in any case, in the base currency.
        reverses: Number of the entry that this one takes back; None: none.
        lot: Number of the lot that it is a share of; None: of none.
    """

    kind: CostKind
    on: date
    paid: Money
    rate: Annotated[Decimal, Field(gt=0)]
    rate_origin: RateOrigin
    rate_on: date | None = None
    reference: ReferenceRate | None = None
    amount: Money
    tax_back: Money
    reason: Reason
    reverses: int | None = None
    lot: str | None = None

    @property
    def cost(self) -> Decimal:
        """What it adds to the basis, in the base currency."""
        return self.amount.amount - self.tax_back.amount


class NumberedEntry(Record):
    """An entry with its number in the ledger and the moment when it was written."""

    number: int
    at: str
    entry: LedgerEntry


class BasisLine(Record):
    """What costs of one kind come to."""

    kind: CostKind
    amount: Money


class Basis(Record):
    """What a unit has cost up to and with a day, tax that comes back taken off.

    Attributes:
        on: The day.
        currency: The base currency.
        total: Sum of the lines.
        lines: By kind, in the order in which kinds first appear.
        paid_to_seller: What its seller, or that of its lot, got for it; None when no such cost is written down.
        seller_tax_back: Tax in that which came back.
        entries: How many entries were counted.
    """

    on: date
    currency: Currency
    total: Money
    lines: tuple[BasisLine, ...]
    paid_to_seller: Money | None
    seller_tax_back: Money
    entries: int


class Profit(Record):
    """What a sale leaves over all that the unit has cost.

    Attributes:
        net: Net proceeds of the sale.
        basis: All costs up to and with the day of the sale.
        profit: net less basis; below 0 for a loss.
        percent: Profit in percent of the basis, two decimals; None when the basis is not above 0.
    """

    net: Money
    basis: Money
    profit: Money
    percent: Decimal | None
