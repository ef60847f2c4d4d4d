from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pricing.records.joined_sales import joined
from tests.market import sales_of, small_sales

JANUARY = np.array(["2026-01-05", "NaT"], dtype="datetime64[D]")
LEFT = sales_of(
    [10.0, 20.0],
    numbers={"size": [1.0, 2.0]},
    texts={"brand": ["Onda", None]},
    faults={"wifi": ["dead", "works"]},
    sold_on=JANUARY,
)
RIGHT = sales_of(
    [30.0],
    numbers={"weight": [5.0]},
    texts={"brand": ["Arvel"]},
    faults={"wifi": ["works"], "nfc": ["dead"]},
    sold_as=["parts"],
)


def words_of(table: object, kind: str, name: str) -> list[str | None]:
    column = getattr(table, kind)[name]
    return [column.word(row) for row in range(len(column.codes))]


def test_rows_follow_each_other_and_words_keep_their_meaning() -> None:
    both = joined([LEFT, RIGHT])
    assert both.price.tolist() == [10.0, 20.0, 30.0]
    assert words_of(both.condition, "texts", "brand") == ["Onda", None, "Arvel"]
    assert words_of(both.condition, "faults", "wifi") == ["dead", "works", "works"]
    assert both.condition.texts["brand"].levels == ("Arvel", "Onda")


def test_a_column_that_one_table_lacks_states_nothing_there() -> None:
    both = joined([LEFT, RIGHT]).condition
    assert words_of(both, "faults", "nfc") == [None, None, "dead"]
    assert np.isnan(both.numbers["size"]).tolist() == [False, False, True]
    assert np.isnan(both.numbers["weight"]).tolist() == [True, True, False]
    assert both.sold_as is not None
    assert both.sold_on is not None
    assert [both.sold_as.word(row) for row in range(3)] == [None, None, "parts"]
    assert np.isnat(both.sold_on).tolist() == [False, True, True]


def test_a_column_that_no_table_has_is_not_made_up() -> None:
    both = joined([LEFT, LEFT])
    assert both.condition.sold_as is None
    assert both.condition.marks == {}
    assert (both.ask, both.listed_on, both.still_listed, both.line) == (None, None, None, None)


def test_the_history_of_listings_is_joined_and_blank_where_a_table_has_none() -> None:
    listed = replace(LEFT, ask=np.array([11.0, np.nan]), listed_on=JANUARY, still_listed=np.array([False, True]))
    both = joined([RIGHT, listed])
    assert both.ask is not None
    assert both.listed_on is not None
    assert both.still_listed is not None
    assert np.isnan(both.ask).tolist() == [True, False, True]
    assert np.isnat(both.listed_on).tolist() == [True, False, True]
    assert both.still_listed.tolist() == [False, False, True]


def test_lines_are_kept_when_every_table_has_them() -> None:
    numbered = replace(LEFT, line=np.array([2, 3]))
    assert joined([numbered, RIGHT]).line is None
    both = joined([numbered, numbered]).line
    assert both is not None
    assert both.tolist() == [2, 3, 2, 3]


def test_a_table_cut_in_pieces_is_the_same_when_they_are_joined() -> None:
    sales = small_sales(60)
    pieces = joined([sales.take(np.arange(start, start + 20)) for start in (0, 20, 40)])
    assert np.array_equal(pieces.price, sales.price)
    for kind in ("texts", "faults", "marks", "parts", "locks"):
        for name in getattr(sales.condition, kind):
            assert words_of(pieces.condition, kind, name) == words_of(sales.condition, kind, name)


def test_tables_in_several_currencies_are_never_joined() -> None:
    with pytest.raises(ValueError, match="one currency"):
        joined([LEFT, replace(RIGHT, currency="USD")])
    with pytest.raises(ValueError, match="one currency"):
        joined([])
