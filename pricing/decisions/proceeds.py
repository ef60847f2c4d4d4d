"""Net proceeds: the price less fees, payment, postage, tax, expected returns and what the guarantee needs.

Each line is rounded to the minor unit, and the net is the price less the rounded lines: nothing is lost between.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from pricing.decisions.fees import fee_amounts
from pricing.decisions.tax import TaxedSale, tax_on_sale
from pricing.errors import BadInput, Problem
from pricing.records.channel import PAYMENT, Channel, Postage, checked_channel
from pricing.records.money import Money, rounded
from pricing.records.proceeds import LineKind, NetProceeds, ProceedsLine
from pricing.records.purchase import Purchase
from pricing.records.tax import NOT_REGISTERED, TaxPosition, TaxResult, TaxTable

MOST_AMOUNT = Decimal(10) ** 12
_ASSUMES = (
    "fees are what stays with the shop after tax that comes back",
    "returns and guarantee are what is to be expected on average, not what this sale will cost",
)


@dataclass(frozen=True)
class SaleTerms:
    """All that decides what a price leaves, but the price.

    Attributes:
        channel: Where the unit is sold.
        on: Day of the sale.
        zone: Where it is sent; None: the channel's first zone.
        position: Where the shop stands with tax.
        table: Rates of its country; None only for a shop that is not registered.
        purchase: How the unit was bought; None: nobody knows.
        cost: What was paid for the unit to its seller, or its share of a lot; None: not known.
        lot_credits: GST only: what is left in the pool of credits of divided lots.
        input_tax: Tax in the cost that came back; None: none did.
    """

    channel: Channel
    on: date
    zone: str | None = None
    position: TaxPosition = NOT_REGISTERED
    table: TaxTable | None = None
    purchase: Purchase | None = None
    cost: Money | None = None
    lot_credits: Money | None = None
    input_tax: Money | None = None

    @property
    def postage(self) -> Postage | None:
        """Postage to the zone.

        Raises:
            NotFound: The channel has no such zone.
        """
        return self.channel.postage_to(self.zone)


def net_proceeds(price: Money, terms: SaleTerms) -> NetProceeds:
    """Return what a sale at this price leaves, line by line.

    Raises:
        BadInput: The price is below 0, finer than the minor unit or in another currency than the channel; fees
            contradict themselves; or what the tax depends on is not known or not proven.
        NotFound: The channel has no such zone, or the tax rates do not reach to the day.
    """
    checked_channel(terms.channel)
    _check_price(price, terms.channel)
    lines, tax = _lines(price.amount, terms, exact=False)
    told = tuple(line for line in lines if line.amount.amount or line.kind == "tax")
    postage = terms.postage
    return NetProceeds(
        price=price,
        lines=told,
        net=Money(amount=price.amount - _taken(told), currency=price.currency),
        tax=tax,
        channel=terms.channel.name,
        zone=None if postage is None else postage.zone,
        on=terms.on,
        assumes=_ASSUMES,
    )


def exact_net(price: Decimal, terms: SaleTerms) -> Decimal:
    """Return what a price leaves before any rounding, for searches over prices; the channel was checked."""
    lines, _ = _lines(price, terms, exact=True)
    return price - _taken(lines)


def _taken(lines: tuple[ProceedsLine, ...]) -> Decimal:
    return sum((line.amount.amount for line in lines), start=Decimal(0))


def _lines(price: Decimal, terms: SaleTerms, *, exact: bool) -> tuple[tuple[ProceedsLine, ...], TaxResult]:
    channel, postage = terms.channel, terms.postage
    charged = Decimal(0) if postage is None else postage.charged

    def keep(amount: Decimal) -> Decimal:
        """Return the amount as it stands on a bill."""
        return amount if exact else rounded(amount, channel.currency)

    def line(kind: LineKind, name: str, amount: Decimal) -> ProceedsLine:
        """Return one line."""
        return ProceedsLine(kind=kind, name=name, amount=Money(amount=keep(amount), currency=channel.currency))

    amounts = fee_amounts(channel, price, charged, keep)
    tax = tax_on_sale(_taxed(price + charged, terms), terms.position, terms.table, exact=exact)
    returns, guarantee = channel.returns, channel.guarantee
    lines = [line("payment" if name == PAYMENT else "fee", name, taken) for name, taken in amounts.items()]
    if postage is not None:
        lines.append(line("charged postage", "postage that the buyer pays", -postage.charged))
        lines.append(line("postage", f"postage to {postage.zone}", postage.cost))
    told = "tax" if terms.position.kind is None else f"{terms.position.kind} ({tax.scheme})"
    lines.append(line("tax", told, tax.output_tax.amount))
    lines.append(line("credit", "credit for the purchase", -tax.credit.amount))
    each = returns.cost + price * returns.lost_percent / 100
    lines.append(line("returns", "returns to be expected", each * returns.share_percent / 100))
    lines.append(line("guarantee", "put aside for the guarantee", price * guarantee.percent / 100 + guarantee.fixed))
    return tuple(lines), tax


def _taxed(consideration: Decimal, terms: SaleTerms) -> TaxedSale:
    return TaxedSale(
        consideration=Money(amount=consideration, currency=terms.channel.currency),
        on=terms.on,
        purchase=terms.purchase,
        cost=terms.cost,
        lot_credits=terms.lot_credits,
        input_tax=terms.input_tax,
    )


def _check_price(price: Money, channel: Channel) -> None:
    """Let pass a price in the channel's money.

    Raises:
        BadInput: It is not.
    """
    if price.currency != channel.currency:
        raise _refused("price", price.currency, f"{channel.currency}, the money of the channel {channel.name}")
    if not 0 <= price.amount <= MOST_AMOUNT:
        raise _refused("price", str(price.amount), f"0 to {MOST_AMOUNT:f}")
    if price.amount != rounded(price.amount, price.currency):
        raise _refused("price", str(price.amount), f"whole minor units of {price.currency}")


def _refused(column: str, found: str, expected: str) -> BadInput:
    problem = Problem("sale", None, column, found, expected)
    return BadInput(str(problem), (problem,))
