from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from pricing.decisions.listing_history import paid_share, rows_with_history, waits_of
from tests.market import sales_of

ON = date(2026, 5, 31)


def days(*words):
    return np.array(words, dtype="datetime64[D]")


def history(**changes):
    """Sold, withdrawn, still standing, only asked, refunded, without a start."""
    sales = sales_of(
        [100, 110, 120, 130, 90, 80],
        sold_on=days("2026-05-11", "2026-05-20", "NaT", "2026-05-01", "2026-05-09", "2026-05-10"),
    )
    whole = replace(
        sales,
        asked=np.array([False, True, True, True, False, False]),
        refunded=np.array([False] * 4 + [True, False]),
        ask=np.array([105, 110, np.nan, np.nan, 95, 85]),
        listed_on=days("2026-05-01", "2026-05-01", "2026-05-21", "2026-04-01", "2026-05-01", "NaT"),
        withdrawn_on=days("NaT", "2026-05-15", "NaT", "NaT", "NaT", "NaT"),
        still_listed=np.array([False, False, True, False, False, False]),
    )
    return replace(whole, **changes)


def test_sold_withdrawn_and_standing_listings_have_a_history_the_others_not():
    sales = history()
    rows = rows_with_history(sales, ON)
    assert rows.tolist() == [0, 1, 2]
    waits = waits_of(sales.take(rows), np.array([100.0, 100, 100]), ON)
    assert waits.days.tolist() == [10, 14, 10]
    assert waits.sold.tolist() == [True, False, False]
    assert waits.over_log == pytest.approx(np.log([1.05, 1.10, 1.20]))


def test_a_sale_without_its_ask_says_nothing_of_the_ask():
    assert rows_with_history(history(ask=None), ON).tolist() == [1, 2]


def test_what_was_listed_after_the_day_is_left_out():
    assert rows_with_history(history(), date(2026, 5, 20)).tolist() == [0, 1]


def test_files_without_listing_columns_have_no_history():
    assert rows_with_history(history(listed_on=None), ON).tolist() == []
    bare = history(withdrawn_on=None, still_listed=None)
    assert rows_with_history(bare, ON).tolist() == [0]


def test_what_is_paid_is_a_share_of_what_is_asked_whatever_a_few_asks_say():
    price = np.linspace(80, 120, 100)
    ask = price / 0.9
    ask[:3] = 1.0
    assert paid_share(replace(sales_of(price), ask=ask)) == pytest.approx(0.9)


def test_fewer_than_30_sales_with_an_ask_tell_no_share():
    sales = sales_of(np.full(40, 90.0))
    assert paid_share(sales) is None
    assert paid_share(replace(sales, ask=np.where(np.arange(40) < 29, 100.0, np.nan))) is None
    assert paid_share(replace(sales, ask=np.full(40, 100.0), asked=np.arange(40) >= 29)) is None
    assert paid_share(replace(sales, ask=np.full(40, 100.0))) == pytest.approx(0.9)
