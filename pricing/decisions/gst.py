"""GST credits for second-hand goods that were bought without tax.

Rules: A New Tax System (Goods and Services Tax) Act 1999 (Australia), Division 66. Section 66-10: up to the limit the
credit is the tax share of the price paid; above it, the lesser of that and the GST on the sale. Subdivision 66-B:
goods bought at one price and divided give their credits to one pool, and the GST on what is sold of them is taken
from the pool until it is empty.
"""

from __future__ import annotations

from decimal import Decimal

from pricing.decisions.included_tax import included_tax
from pricing.records.money import Money
from pricing.records.purchase import LotOrigin

CREDIT_RULE = (
    "GST is {percent}/{whole} of the price; the credit is {percent}/{whole} of what was paid, above {limit} at most "
    "the GST on the sale (GST Act 1999 s. 66-10)"
)
DIVIDED_RULE = (
    "GST is {percent}/{whole} of the price; credits of lots that are divided form one pool, and the GST on what is "
    "sold of them is taken from it until it is empty (GST Act 1999 s. 66-40 to 66-65)"
)


def second_hand_credit(cost: Decimal, output_tax: Decimal, percent: Decimal, limit: Decimal) -> Decimal:
    """Return the credit for one unit that was bought by itself, not rounded; all amounts in one currency."""
    share = included_tax(cost, percent)
    return share if cost <= limit else min(share, output_tax)


def is_divided(lot: LotOrigin | None, limit: Money) -> bool:
    """Return whether the credits of a lot go to the pool: one price above the limit, not stated by unit."""
    return lot is not None and not lot.itemised and lot.price.amount > limit.amount


def lot_credit(price: Decimal, percent: Decimal) -> Decimal:
    """Return what the purchase of a lot that will be divided adds to the pool, not rounded."""
    return included_tax(price, percent)


def divided_credit(output_tax: Decimal, pool: Decimal) -> tuple[Decimal, Decimal]:
    """Return how much of the GST on a sale the pool takes, and what is left in the pool."""
    taken = min(output_tax, pool)
    return taken, pool - taken
