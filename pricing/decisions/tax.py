"""The tax in one sale: which scheme applies follows from how the unit was bought and what shows it.

=====================  ==================================  ====================================
bought from            VAT                                 GST
=====================  ==================================  ====================================
private person         margin of the unit, or of the pool  credit, or from the pool of the lots
margin dealer          margin of the unit, or of the pool  refused: there is no margin scheme
invoice showing tax    full price                          full price
import                 full price                          full price
=====================  ==================================  ====================================
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from pricing.decisions.gst import CREDIT_RULE, DIVIDED_RULE, divided_credit, is_divided, second_hand_credit
from pricing.decisions.included_tax import included_tax
from pricing.decisions.margin_scheme import MARGIN_RULE, MARGIN_WAYS, margin_of, rule_at
from pricing.decisions.proofs import check_proof
from pricing.errors import BadInput, Problem, shortened
from pricing.records.money import Money, rounded
from pricing.records.purchase import Purchase
from pricing.records.tax import Scheme, TaxPosition, TaxResult, TaxTable

_STANDARD_RATE = "the goods are taxed at the standard rate, and the buyer is in the same country"
_SECOND_HAND = "the goods are second-hand and were bought to be sold again"
_INPUT_TAX = "input tax of the purchase, of parts and of services comes back through the ledger, not here"
_NO_TAX_SHOWN = "the invoice shows no VAT and says margin scheme; no input tax of the purchase was deducted"
_POOL_CAUTION = "the period has a margin in all; that a loss here would lower the tax of other units is not counted"


@dataclass(frozen=True)
class TaxedSale:
    """One sale, or one that is thought of.

    Attributes:
        consideration: All that the buyer pays, postage too, tax in it.
        on: Day of the sale.
        purchase: How the unit was bought; None: nobody knows.
        cost: What was paid for the unit to its seller, or its share of a lot; None: not known.
        lot_credits: GST only: what is left in the pool of credits of divided lots; None: not known.
        input_tax: Tax in the cost that came back; None: none did.
    """

    consideration: Money
    on: date
    purchase: Purchase | None = None
    cost: Money | None = None
    lot_credits: Money | None = None
    input_tax: Money | None = None


def tax_on_sale(sale: TaxedSale, position: TaxPosition, table: TaxTable | None, *, exact: bool = False) -> TaxResult:
    """Return the tax in a sale, with the rule and what it assumes.

    Args:
        sale: The sale.
        position: Where the shop stands.
        table: Rates of its country; None only for a shop that is not registered.
        exact: Amounts are not rounded, for searches over prices.

    Raises:
        BadInput: What the tax depends on is not known, not proven or contradicts itself.
        NotFound: The table has no rate or limit for a day.
    """
    if position.kind is None:
        assumes = ("the shop is not registered for VAT or GST, and charges none",)
        return _Rule(sale, Decimal(0), None, exact).result("none", "no tax is charged", sale.consideration, assumes)
    table = _checked_table(position, table, sale)
    rule = _Rule(sale, table.percent_on(sale.on), table, exact)
    if position.on_full_price:
        return rule.full_price(position, "the shop chose the usual rules, whatever way the unit was bought")
    purchase = check_proof(sale.purchase, "unit")
    if purchase.on > sale.on:
        raise _refused("purchase.on", str(purchase.on), f"a day not after the sale on {sale.on}")
    if purchase.way in ("invoice showing tax", "import"):
        return rule.full_price(position, f"the unit was bought by {purchase.way}, so no second-hand scheme applies")
    _check_money(table, cost=sale.cost, lot_credits=sale.lot_credits, input_tax=sale.input_tax)
    if sale.input_tax is not None and sale.input_tax.amount > 0:
        expected = f"none for a unit bought from a {purchase.way}: who got tax back may not use a second-hand scheme"
        raise _refused("input_tax", str(sale.input_tax.amount), expected)
    if position.kind == "VAT":
        return rule.margin(purchase, position, table)
    return rule.credit(purchase, table)


@dataclass(frozen=True)
class _Rule:
    """The sale and its rate, with one method for each scheme."""

    sale: TaxedSale
    percent: Decimal
    table: TaxTable | None
    exact: bool

    def full_price(self, position: TaxPosition, because: str) -> TaxResult:
        """Return tax in the whole price."""
        tax = included_tax(self.sale.consideration.amount, self.percent)
        words = rule_at(f"{position.kind} is {{percent}}/{{whole}} of the price", self.percent)
        assumes = (because, _STANDARD_RATE, _INPUT_TAX)
        return self.result("full price", words, self.sale.consideration, assumes, tax=tax, on_invoice=True)

    def margin(self, purchase: Purchase, position: TaxPosition, table: TaxTable) -> TaxResult:
        """Return tax in the margin.

        Raises:
            BadInput: The price paid is not known.
        """
        assert purchase.way in MARGIN_WAYS  # noqa: S101 - the others were looked at before
        cost = self._cost("the margin")
        limit = table.pool_limit_on(purchase.on) if position.pooled else None
        pooled = limit is not None and cost.amount <= limit.amount
        taxable = margin_of(self.sale.consideration, cost)
        assumes = [_SECOND_HAND, _STANDARD_RATE, _NO_TAX_SHOWN, "parts, repairs and fees do not reduce the margin"]
        if pooled:
            assumes.append(_POOL_CAUTION)
        elif limit is not None:
            assumes.append(f"dearer than {limit.amount} {limit.currency}, so the unit has a margin of its own")
        tax = included_tax(taxable.amount, self.percent)
        scheme: Scheme = "pooled margin" if pooled else "margin"
        return self.result(scheme, rule_at(MARGIN_RULE, self.percent), taxable, tuple(assumes), tax=tax)

    def credit(self, purchase: Purchase, table: TaxTable) -> TaxResult:
        """Return GST on the price, less the credit for goods bought without it.

        Raises:
            BadInput: Bought from a dealer under a margin scheme, which GST does not know; or the price paid or the
                pool of credits is not known.
        """
        if purchase.way == "margin dealer":
            expected = f"another way: {table.title} has no margin scheme, a dealer there charges GST on the full price"
            raise _refused("purchase.way", shortened(purchase.way), expected)
        limit = table.credit_limit_on(purchase.on)
        told = f"{limit.amount} {limit.currency}"
        tax = included_tax(self.sale.consideration.amount, self.percent)
        assumes = (_SECOND_HAND, _STANDARD_RATE, "the record of the purchase has the seller's name and the goods")
        if is_divided(purchase.lot, limit):
            pool = self._lot_credits()
            taken, _ = divided_credit(tax, pool.amount)
            words = rule_at(DIVIDED_RULE, self.percent)
            more = (*assumes, f"{pool.amount} {pool.currency} of credits are left in the pool before this sale")
            return self.result(
                "divided lot", words, self.sale.consideration, more, tax=tax, credit=taken, on_invoice=True
            )
        cost = self._cost("the credit")
        taken = second_hand_credit(cost.amount, tax, table.percent_on(purchase.on), limit.amount)
        words = rule_at(CREDIT_RULE.replace("{limit}", told), self.percent)
        return self.result(
            "second-hand credit", words, self.sale.consideration, assumes, tax=tax, credit=taken, on_invoice=True
        )

    def result(
        self,
        scheme: Scheme,
        words: str,
        taxable: Money,
        assumes: tuple[str, ...],
        *,
        tax: Decimal = Decimal(0),
        credit: Decimal = Decimal(0),
        on_invoice: bool = False,
    ) -> TaxResult:
        """Return what the rule came to, rounded to the minor unit unless exact."""
        return TaxResult(
            scheme=scheme,
            rule=words,
            taxable=taxable,
            percent=self.percent,
            output_tax=self._money(tax),
            credit=self._money(credit),
            on_invoice=on_invoice,
            assumes=assumes if self.table is None else (*assumes, self.table.standing),
        )

    def _money(self, amount: Decimal) -> Money:
        currency = self.sale.consideration.currency
        return Money(amount=amount if self.exact else rounded(amount, currency), currency=currency)

    def _cost(self, what: str) -> Money:
        """Return what was paid for the unit.

        Raises:
            BadInput: It is not known.
        """
        if self.sale.cost is None:
            raise _refused("cost", "nothing", f"what was paid for the unit, because {what} depends on it")
        return self.sale.cost

    def _lot_credits(self) -> Money:
        """Return what is left in the pool of credits.

        Raises:
            BadInput: It is not known.
        """
        if self.sale.lot_credits is None:
            expected = "what is left of the credits of divided lots, because the unit comes from one"
            raise _refused("lot_credits", "nothing", expected)
        return self.sale.lot_credits


def _checked_table(position: TaxPosition, table: TaxTable | None, sale: TaxedSale) -> TaxTable:
    """Return the table when it is that of the shop and speaks of its money.

    Raises:
        BadInput: It is missing, of the other kind of tax, or of another currency.
    """
    if table is None:
        raise _refused("country", shortened(position.country or ""), "the country whose rates apply")
    if table.kind != position.kind:
        raise _refused("tax", str(position.kind), f"{table.kind}, which {table.title} has")
    _check_money(table, consideration=sale.consideration)
    return table


def _check_money(table: TaxTable, **amounts: Money | None) -> None:
    """Let pass amounts of 0 or more in the money of the tax.

    Raises:
        BadInput: One is below 0, or in another currency.
    """
    for name, money in amounts.items():
        if money is not None and money.currency != table.currency:
            raise _refused(name, money.currency, f"{table.currency}, in which the tax of {table.title} is counted")
        if money is not None and money.amount < 0:
            raise _refused(name, str(money.amount), "0 or more")


def _refused(column: str, found: str, expected: str) -> BadInput:
    problem = Problem("unit", None, column, found, expected)
    return BadInput(str(problem), (problem,))
