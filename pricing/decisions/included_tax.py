"""The tax that a price with tax in it holds: price * t / (100 + t) at t percent."""

from __future__ import annotations

from decimal import Decimal


def included_tax(amount: Decimal, percent: Decimal) -> Decimal:
    """Return the tax in an amount that includes it, not rounded.

    Multiplied first, divided last: 20 percent of 100 + 20 is a sixth, which no Decimal holds by itself.
    """
    return amount * percent / (100 + percent)
