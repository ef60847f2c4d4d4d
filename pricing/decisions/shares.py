"""A lot's price divided over its units: equally, by expected net value, or by hand. Nothing is lost, nothing added.

Largest remainder rule: each unit first gets its exact share rounded down to the minor unit; what is left over then
goes out one minor unit each to the units whose shares lost most by that. Of equal ones the first in the list gets it.
Relative value is how a basket purchase is divided in accounting; the equal split is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from pricing.errors import BadInput, Problem
from pricing.records.money import Money, minor_unit, rounded


def equal_shares(total: Money, count: int) -> tuple[Money, ...]:
    """Return the total in ``count`` shares that differ by one minor unit at most.

    Raises:
        BadInput: There is no unit, or the total is below 0 or finer than the minor unit.
    """
    return divided(total, [Decimal(1)] * count)


def shares_by_value(total: Money, values: Sequence[Money]) -> tuple[Money, ...]:
    """Return the total divided by what each unit is expected to bring net; who brings less than 0 gets no share.

    Raises:
        BadInput: There is no unit, none is worth anything, the values are in different currencies, or the total is
            below 0 or finer than the minor unit.
    """
    for place, value in enumerate(values):
        if value.currency != values[0].currency:
            raise _refused(f"values.{place}", value.currency, f"{values[0].currency}, like the first value")
    return divided(total, [max(value.amount, Decimal(0)) for value in values])


def shares_by_hand(total: Money, shares: Sequence[Money]) -> tuple[Money, ...]:
    """Return the shares as given, when they sum to the total.

    Raises:
        BadInput: They do not; or one is below 0, finer than the minor unit or in another currency.
    """
    _check_total(total, len(shares))
    for place, share in enumerate(shares):
        name = f"shares.{place}"
        if share.currency != total.currency:
            raise _refused(name, share.currency, f"{total.currency}, as the lot was paid")
        if share.amount < 0 or share.amount != rounded(share.amount, share.currency):
            raise _refused(name, str(share.amount), f"0 or more, in whole minor units of {share.currency}")
    given = sum((share.amount for share in shares), start=Decimal(0))
    if given != total.amount:
        off = total.amount - given
        expected = f"{total.amount} {total.currency} in all: {abs(off)} {'is missing' if off > 0 else 'too much'}"
        raise _refused("shares", str(given), expected)
    return tuple(shares)


def passed_on(shares: Sequence[Money], scrapped: Sequence[int]) -> tuple[Money, ...]:
    """Return the shares after scrapped units handed theirs to the others, in proportion to what those have.

    When all the others have a share of 0, they get equal parts.

    Args:
        shares: Of all units, in one currency.
        scrapped: Places of the scrapped units, from 0.

    Raises:
        BadInput: A place is not there, or every unit is scrapped: then somebody must keep the cost.
    """
    gone = set(scrapped)
    unknown = sorted(place for place in gone if not 0 <= place < len(shares))
    if unknown:
        raise _refused("scrapped", str(unknown[0]), f"a place from 0 to {len(shares) - 1}")
    kept = [place for place in range(len(shares)) if place not in gone]
    if not kept:
        raise _refused("scrapped", "every unit of the lot", "at least one that is left to carry the cost")
    currency = shares[0].currency
    freed = Money(amount=sum((shares[place].amount for place in gone), start=Decimal(0)), currency=currency)
    weights = [shares[place].amount for place in kept]
    more = divided(freed, weights if any(weights) else [Decimal(1)] * len(kept))
    amounts = [Decimal(0)] * len(shares)
    for place, extra in zip(kept, more, strict=True):
        amounts[place] = shares[place].amount + extra.amount
    return tuple(Money(amount=amount, currency=currency) for amount in amounts)


def divided(total: Money, weights: Sequence[Decimal]) -> tuple[Money, ...]:
    """Return the total divided in proportion to weights by the largest remainder rule.

    Raises:
        BadInput: There is no weight above 0, one is below 0, or the total is below 0 or finer than the minor unit.
    """
    _check_total(total, len(weights))
    for place, weight in enumerate(weights):
        if not weight.is_finite() or weight < 0:
            raise _refused(f"weights.{place}", str(weight), "0 or more")
    # Fractions, because a third of an amount is no Decimal and the remainders decide who gets the last cents.
    exact = [Fraction(weight) for weight in weights]
    whole = sum(exact)
    if not whole:
        expected = "a unit above 0, an equal split, or shares by hand"
        raise _refused("values", "nothing that is worth more than 0", expected)
    unit = minor_unit(total.currency)
    minor_units = int(total.amount / unit)
    quotas = [minor_units * weight / whole for weight in exact]
    counts = [int(quota) for quota in quotas]
    left = minor_units - sum(counts)
    by_remainder = sorted(range(len(quotas)), key=lambda place: (counts[place] - quotas[place], place))
    for place in by_remainder[:left]:
        counts[place] += 1
    return tuple(Money(amount=count * unit, currency=total.currency) for count in counts)


def _check_total(total: Money, count: int) -> None:
    """Let pass a total that can be divided over that many units.

    Raises:
        BadInput: It cannot.
    """
    if count < 1:
        raise _refused("units", "0 units", "at least one unit to carry the cost")
    if not 0 <= total.amount <= Decimal(10) ** 12:
        raise _refused("price", str(total.amount), "0 or more, at most 10^12")
    if total.amount != rounded(total.amount, total.currency):
        raise _refused("price", str(total.amount), f"whole minor units of {total.currency}")


def _refused(column: str, found: str, expected: str) -> BadInput:
    problem = Problem("lot", None, column, found, expected)
    return BadInput(str(problem), (problem,))
