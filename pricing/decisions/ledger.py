"""A unit's ledger: entries from costs, what takes one back, the basis at any day, and the profit of a sale."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from pricing.errors import BadInput, NotFound, Problem
from pricing.records.cost import (
    PAID_TO_SELLER,
    Basis,
    BasisLine,
    CostKind,
    LedgerEntry,
    NewCost,
    NumberedEntry,
    Profit,
    RateOrigin,
    ReferenceRate,
)
from pricing.records.money import Money, minor_unit, rounded
from pricing.records.proceeds import NetProceeds

MOST_PAID = Decimal(10) ** 12


def entry_of(cost: NewCost, base: str, reference: ReferenceRate | None = None) -> LedgerEntry:
    """Return the ledger's line for a cost, in the base currency.

    What the bank really charged wins over the published rate, which is then only kept beside it.

    Args:
        cost: As the user states it.
        base: Currency of the ledger.
        reference: Published rate of the day; needed when the cost is in another currency and nobody knows what
            was charged.

    Raises:
        BadInput: An amount is not above 0, finer than the minor unit or not plausible; what was charged is in
            another currency; the tax is more than what was paid; or a rate is needed and not given.
    """
    _check_amounts(cost, base)
    rate, origin = _rate(cost, base, reference)
    sign = -1 if cost.refund else 1
    charged = rounded(cost.paid.amount * rate, base) if cost.charged is None else cost.charged.amount
    tax = rounded(cost.tax_back * rate, base)
    return LedgerEntry(
        kind=cost.kind,
        on=cost.on,
        paid=Money(amount=sign * cost.paid.amount, currency=cost.paid.currency),
        rate=rate,
        rate_origin=origin,
        rate_on=reference.day if origin == "reference" and reference is not None else None,
        reference=reference if cost.paid.currency != base else None,
        amount=Money(amount=sign * charged, currency=base),
        tax_back=Money(amount=sign * tax, currency=base),
        reason=cost.reason,
    )


def reversal_of(number: int, entries: Sequence[NumberedEntry], on: date, reason: str) -> LedgerEntry:
    """Return the entry that takes another one back to the last minor unit, whatever rates are by now.

    Args:
        number: The entry to take back.
        entries: The whole ledger of the unit.
        on: Day from which it no longer counts; that of the entry itself mends all days since.
        reason: Why.

    Raises:
        NotFound: The ledger has no such entry.
        BadInput: It was taken back already, takes another one back itself, or is of a later day.
    """
    wanted = next((entry for entry in entries if entry.number == number), None)
    if wanted is None:
        raise NotFound(f"no entry {number} in this unit's ledger")
    if wanted.entry.reverses is not None:
        expected = "a cost: what takes an entry back is not taken back, write the cost down again instead"
        raise _refused("reverses", f"entry {number}, which takes back {wanted.entry.reverses}", expected)
    before = next((entry for entry in entries if entry.entry.reverses == number), None)
    if before is not None:
        raise _refused("reverses", f"entry {number}", f"one that entry {before.number} has not taken back already")
    if on < wanted.entry.on:
        raise _refused("on", str(on), f"{wanted.entry.on}, the day of the entry, or a later one")
    return wanted.entry.model_copy(
        update={
            "on": on,
            "paid": _negative(wanted.entry.paid),
            "amount": _negative(wanted.entry.amount),
            "tax_back": _negative(wanted.entry.tax_back),
            "reason": reason,
            "reverses": number,
        }
    )


def basis_at(entries: Sequence[LedgerEntry], on: date, currency: str) -> Basis:
    """Return what the entries up to and with a day come to.

    Raises:
        BadInput: An entry is in another base currency.
    """
    counted = [entry for entry in entries if entry.on <= on]
    for entry in counted:
        if entry.amount.currency != currency:
            raise _refused("amount", entry.amount.currency, f"{currency}, the currency of the ledger")
    sums: dict[CostKind, Decimal] = {}
    for entry in counted:
        sums[entry.kind] = sums.get(entry.kind, Decimal(0)) + entry.cost
    seller = [entry for entry in counted if entry.kind in PAID_TO_SELLER]
    paid = sum((entry.amount.amount for entry in seller), start=Decimal(0))
    tax = sum((entry.tax_back.amount for entry in seller), start=Decimal(0))
    return Basis(
        on=on,
        currency=currency,
        total=_money(sum(sums.values(), start=Decimal(0)), currency),
        lines=tuple(BasisLine(kind=kind, amount=_money(amount, currency)) for kind, amount in sums.items()),
        paid_to_seller=_money(paid, currency) if seller else None,
        seller_tax_back=_money(tax, currency),
        entries=len(counted),
    )


def profit_of(proceeds: NetProceeds, basis: Basis) -> Profit:
    """Return what a sale leaves over the basis at its day.

    Raises:
        BadInput: The two are in different currencies, or the basis is of another day.
    """
    if proceeds.net.currency != basis.currency:
        raise _refused("net", proceeds.net.currency, f"{basis.currency}, the currency of the ledger")
    if proceeds.on != basis.on:
        raise _refused("on", str(basis.on), f"{proceeds.on}, the day of the sale")
    gained = proceeds.net.amount - basis.total.amount
    cost = basis.total.amount
    return Profit(
        net=proceeds.net,
        basis=basis.total,
        profit=_money(gained, basis.currency),
        percent=(gained * 100 / cost).quantize(Decimal("0.01")) if cost > 0 else None,
    )


def _rate(cost: NewCost, base: str, reference: ReferenceRate | None) -> tuple[Decimal, RateOrigin]:
    """Return base per unit of the currency paid, and where that comes from.

    Raises:
        BadInput: No rate is known.
    """
    if cost.charged is not None:
        return cost.charged.amount / cost.paid.amount, "charged"
    if cost.paid.currency == base:
        return Decimal(1), "same currency"
    if reference is None:
        expected = f"what was charged in {base}, or a published rate for {cost.on}"
        raise _refused("paid", cost.paid.currency, expected)
    return reference.rate, "reference"


def _check_amounts(cost: NewCost, base: str) -> None:
    """Let pass amounts that can be.

    Raises:
        BadInput: One cannot.
    """
    for name, money in (("paid", cost.paid), ("charged", cost.charged)):
        if money is None:
            continue
        if not 0 < money.amount <= MOST_PAID:
            raise _refused(name, str(money.amount), f"more than 0, at most {MOST_PAID:f}")
        if money.amount != rounded(money.amount, money.currency):
            least = minor_unit(money.currency)
            raise _refused(name, str(money.amount), f"whole minor units of {money.currency} ({least:f})")
    if cost.charged is not None and cost.charged.currency != base:
        raise _refused("charged", cost.charged.currency, f"{base}, the currency of the ledger")
    if cost.charged is not None and cost.paid.currency == base and cost.charged.amount != cost.paid.amount:
        raise _refused("charged", str(cost.charged.amount), f"{cost.paid.amount}, as paid in the same currency")
    if cost.tax_back > cost.paid.amount:
        raise _refused("tax_back", str(cost.tax_back), f"at most {cost.paid.amount}, which was paid in all")


def _negative(money: Money) -> Money:
    return Money(amount=-money.amount, currency=money.currency)


def _money(amount: Decimal, currency: str) -> Money:
    return Money(amount=amount, currency=currency)


def _refused(column: str, found: str, expected: str) -> BadInput:
    problem = Problem("cost", None, column, found, expected)
    return BadInput(str(problem), (problem,))
