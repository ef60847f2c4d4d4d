"""Margins counted together by period: worked examples, the limit, and what is carried forward."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from data.catalogue.tax_reader import find_tax_table
from pricing.decisions.margin_scheme import close_pool
from pricing.errors import BadInput, NotFound
from pricing.records.tax import PoolItem, PoolPeriod
from tests.deals import BOUGHT, money, purchase, vat

CENTS = st.integers(0, 10**6).map(lambda cents: Decimal(cents) / 100)
LOW = st.integers(0, 50_000).map(lambda cents: Decimal(cents) / 100)
NO_LIMIT = vat(limit=10**9)


def item(cost, number="U1", currency="GBP", **bought):
    return PoolItem(number=number, cost=money(cost, currency), purchase=purchase(**bought))


def period(bought=(), sales=(), forward=0, *, starts=date(2026, 1, 1), ends=date(2026, 3, 31)):
    costs = tuple(thing if isinstance(thing, PoolItem) else item(thing) for thing in bought)
    paid = tuple(money(sale) for sale in sales)
    return PoolPeriod(starts=starts, ends=ends, bought=costs, sales=paid, brought_forward=money(forward))


def test_total_sales_less_total_purchases_are_taxed():
    # goselfemployed.co, VAT global accounting scheme calculator: sales 20000, purchases 8000, VAT 2000.
    closed = close_pool(period([400] * 20, [500] * 40), find_tax_table("gb"))
    assert (closed.margin.amount, closed.tax.amount, closed.carried_forward.amount) == (12000, Decimal("2000.00"), 0)


def test_an_excess_of_purchases_is_carried_forward_and_never_paid_out():
    # Computed from SI 1995/1268 art. 13: 9000 - 12000 gives nothing, then 10000 - (4000 + 3000) = 3000, VAT 500.
    first = close_pool(period([400] * 30, [9000]), find_tax_table("gb"))
    assert (first.tax.amount, first.carried_forward.amount) == (0, 3000)
    second = close_pool(period([400] * 10, [10000], first.carried_forward.amount), find_tax_table("gb"))
    assert (second.tax.amount, second.carried_forward.amount) == (Decimal("500.00"), 0)


def test_a_unit_at_the_limit_enters_the_pool_and_a_penny_more_does_not():
    table = find_tax_table("gb")
    assert close_pool(period(["500.00"], [800]), table).margin.amount == 300
    with pytest.raises(BadInput) as refused:
        close_pool(period([item("500.01", "U7")], [800]), table)
    assert (refused.value.problems[0].source, refused.value.problems[0].column) == ("unit U7", "cost")


@given(st.lists(st.tuples(st.lists(LOW, max_size=4), st.lists(CENTS, max_size=4)), min_size=1, max_size=6))
def test_over_many_periods_no_purchase_is_lost_and_none_counts_twice(periods):
    forward, margins = Decimal(0), Decimal(0)
    for costs, sales in periods:
        closed = close_pool(period(costs, sales, forward), NO_LIMIT)
        assert closed.tax.amount >= 0
        assert closed.margin.amount * closed.carried_forward.amount == 0
        assert abs(closed.tax.amount * 6 - closed.margin.amount) <= Decimal("0.03")
        forward, margins = closed.carried_forward.amount, margins + closed.margin.amount
    total = sum(sum(sales, Decimal(0)) - sum(costs, Decimal(0)) for costs, sales in periods)
    assert margins - forward == total


@pytest.mark.parametrize(
    ("bad", "column"),
    [
        (period([item(10, way="import")]), "purchase.way"),
        (period([item(10, proven=False)]), "purchase.proof"),
        (period([PoolItem(number="U1", cost=money(10), purchase=None)]), "purchase"),
        (period([item(10, currency="EUR")]), "cost"),
        (period([item(10, on=date(2025, 12, 31))]), "purchase.on"),
        (period([], [-1]), "sales.0"),
        (period([], [], -1), "brought_forward"),
        (period([], [], starts=date(2026, 4, 1)), "ends"),
        (period([], [], starts=date(2010, 12, 1), ends=date(2011, 1, 31)), "starts"),
    ],
)
def test_what_may_not_enter_the_pool_is_refused_by_name(bad, column):
    with pytest.raises(BadInput) as refused:
        close_pool(bad, find_tax_table("gb"))
    assert column in [problem.column for problem in refused.value.problems]


def test_one_bad_unit_does_not_hide_the_next():
    units = [item(10, "A", proven=False), item(600, "B"), item(20, "C", way="import")]
    with pytest.raises(BadInput) as refused:
        close_pool(period(units, [5]), find_tax_table("gb"))
    assert [problem.source for problem in refused.value.problems] == ["unit A", "unit B", "unit C"]


def test_a_pool_needs_a_limit_of_its_day():
    with pytest.raises(NotFound, match="no limit for pooled margins"):
        close_pool(period([10], [20]), vat(limit=None))
    early = period([item(10, on=date(1994, 3, 3))], starts=date(1994, 1, 1), ends=date(1994, 3, 31))
    with pytest.raises(NotFound, match="first begins on 1995-06-01"):
        close_pool(early, find_tax_table("gb"))


def test_the_day_of_a_purchase_decides_its_limit():
    assert close_pool(period([item(500, on=BOUGHT)], [600]), find_tax_table("gb")).assumes
