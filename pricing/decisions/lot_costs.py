"""The costs of a lot as entries in the ledgers of its units.

Every amount is brought to the base currency as a whole and divided there too, so that the shares sum to the last minor
unit both in the currency paid and in the base currency.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal

from pricing.decisions.ledger import entry_of
from pricing.decisions.shares import divided, equal_shares, passed_on, shares_by_hand, shares_by_value
from pricing.errors import BadInput, Problem
from pricing.records.cost import CostKind, LedgerEntry, NewCost, ReferenceRate
from pricing.records.lot_cost import LotCost
from pricing.records.money import Money


def lot_shares(lot: LotCost) -> tuple[Money, ...]:
    """Return each unit's share of the price, in the order of the units.

    Raises:
        BadInput: A unit stands twice, amounts are missing or too many, or they do not fit the price.
    """
    twice = sorted({number for number in lot.units if lot.units.count(number) > 1})
    if twice:
        raise _refused("units", twice[0], "each unit once")
    if lot.split == "equal":
        if lot.amounts:
            raise _refused("amounts", f"{len(lot.amounts)} amounts", "none, because all shares are equal")
        return equal_shares(lot.price, len(lot.units))
    if len(lot.amounts) != len(lot.units):
        raise _refused("amounts", f"{len(lot.amounts)} amounts", f"one for each of the {len(lot.units)} units")
    if lot.split == "hand":
        return shares_by_hand(lot.price, lot.amounts)
    return shares_by_value(lot.price, lot.amounts)


def lot_entries(
    lot: LotCost, base: str, reference: ReferenceRate | None = None
) -> tuple[tuple[LedgerEntry, ...], ...]:
    """Return the entries for each unit: its share of the price and of everything else, in the same proportion.

    Raises:
        BadInput: As ``lot_shares``; or the price is 0, or an amount cannot be.
    """
    shares = lot_shares(lot)
    weights = [share.amount for share in shares]
    if not any(weights):
        raise _refused("price", str(lot.price.amount), "more than 0")
    wholes = [entry_of(cost, base, reference) for cost in _costs(lot, base)]
    by_cost = [_divided_entry(whole, weights, lot.number) for whole in wholes]
    return tuple(
        tuple(entry for entry in entries if entry.paid.amount or entry.amount.amount)
        for entries in zip(*by_cost, strict=True)
    )


def handed_on(
    shares: Mapping[str, Sequence[LedgerEntry]], scrapped: Sequence[str], on: date, reason: str
) -> dict[str, LedgerEntry]:
    """Return the entries by which scrapped units hand their costs of a lot to its other units.

    Args:
        shares: Number of each unit of the lot -> its entries of the lot.
        scrapped: Numbers of the scrapped units.
        on: Day from which it counts.
        reason: Why.

    Raises:
        BadInput: A scrapped unit is not of this lot, or all of them are scrapped.
    """
    numbers = list(shares)
    unknown = [number for number in scrapped if number not in shares]
    if unknown:
        raise _refused("scrapped", unknown[0], f"a unit of this lot: {', '.join(numbers[:12])}")
    first = next(entry for entries in shares.values() for entry in entries)
    currency = first.amount.currency
    totals = [
        Money(amount=sum((entry.cost for entry in entries), start=Decimal(0)), currency=currency)
        for entries in shares.values()
    ]
    after = passed_on(totals, [numbers.index(number) for number in scrapped])
    changes = {number: new.amount - old.amount for number, new, old in zip(numbers, after, totals, strict=True)}
    return {
        number: LedgerEntry(
            kind="scrapped share",
            on=on,
            paid=Money(amount=change, currency=currency),
            rate=Decimal(1),
            rate_origin="same currency",
            amount=Money(amount=change, currency=currency),
            tax_back=Money(amount=Decimal(0), currency=currency),
            reason=reason,
            lot=first.lot,
        )
        for number, change in changes.items()
        if change
    }


def _costs(lot: LotCost, base: str) -> list[NewCost]:
    """Return the lot's costs as wholes, what was charged divided over them in proportion."""
    parts: list[tuple[CostKind, Decimal, str]] = [
        ("lot share", lot.price.amount, "price"),
        ("service", lot.premium, "premium"),
        ("postage", lot.postage, "postage"),
        ("import tax", lot.import_tax, "import tax"),
    ]
    paid = [part for part in parts if part[1]]
    charged: Sequence[Money | None] = [None] * len(paid)
    if lot.charged is not None:
        if lot.charged.currency != base:
            raise _refused("charged", lot.charged.currency, f"{base}, the currency of the ledgers")
        charged = divided(lot.charged, [amount for _, amount, _ in paid])
    return [
        NewCost(
            kind=kind,
            on=lot.on,
            paid=Money(amount=amount, currency=lot.price.currency),
            charged=taken,
            reason=f"{words} of lot {lot.number}, divided by {'equal shares' if lot.split == 'equal' else lot.split}",
        )
        for (kind, amount, words), taken in zip(paid, charged, strict=True)
    ]


def _divided_entry(whole: LedgerEntry, weights: Sequence[Decimal], lot: str) -> list[LedgerEntry]:
    paid = divided(whole.paid, weights)
    amounts = divided(whole.amount, weights)
    taxes = divided(whole.tax_back, weights)
    return [
        whole.model_copy(update={"paid": share, "amount": amount, "tax_back": tax, "lot": lot})
        for share, amount, tax in zip(paid, amounts, taxes, strict=True)
    ]


def _refused(column: str, found: str, expected: str) -> BadInput:
    problem = Problem("lot", None, column, found, expected)
    return BadInput(str(problem), (problem,))
