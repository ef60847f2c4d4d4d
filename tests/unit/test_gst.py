"""Credits for second-hand goods: one unit by itself, and a pool for lots that are divided."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.decisions.gst import divided_credit, is_divided, lot_credit, second_hand_credit
from tests.deals import lot, money

LIMIT = money(300, "AUD")
CENTS = st.integers(0, 10**7).map(lambda cents: Decimal(cents) / 100)


def test_a_lot_adds_an_eleventh_of_its_price_to_the_pool():
    # ATO, GSTA 008: 1/11 of the consideration goes to the Subdivision 66-B credit amount.
    assert lot_credit(Decimal(3300), Decimal(10)) == 300


@pytest.mark.parametrize(
    ("origin", "divided"),
    [
        (None, False),
        (lot("300.00"), False),
        (lot("300.01"), True),
        (lot("300.01", itemised=True), False),
    ],
)
def test_only_a_lot_of_one_price_above_the_limit_is_divided(origin, divided):
    assert is_divided(origin, LIMIT) is divided


def test_a_pool_is_used_up_sale_by_sale():
    # A lot of 3,300 gives 300; units sold for 1,100, 1,650 and 1,100 hold 100, 150 and 100: only 50 are to be paid.
    pool, paid = Decimal(300), []
    for gst in (100, 150, 100):
        taken, pool = divided_credit(Decimal(gst), pool)
        paid.append(gst - taken)
    assert paid == [0, 0, 50]
    assert pool == 0


@given(CENTS, st.lists(CENTS, max_size=12))
def test_over_all_sales_of_a_pool_only_what_exceeds_the_credits_is_paid(credits, sales):
    pool, paid = credits, Decimal(0)
    for gst in sales:
        taken, pool = divided_credit(gst, pool)
        assert 0 <= taken <= gst
        assert pool >= 0
        paid += gst - taken
    assert paid == max(sum(sales, Decimal(0)) - credits, 0)


@given(CENTS, CENTS)
def test_above_the_limit_the_credit_is_the_lesser_and_below_it_the_share(cost, gst):
    credit = second_hand_credit(cost, gst, Decimal(10), LIMIT.amount)
    share = cost * 10 / 110
    assert credit == (share if cost <= 300 else min(share, gst))
