"""Sales as cells: what goes into the store comes out again."""

from __future__ import annotations

import json

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from data.storage.sale_cells import cells_of, columns_of, sales_of_cells
from pricing.records.sales_table import ConditionTable, SalesTable, TextColumn

WORDS = st.lists(st.none() | st.text(min_size=1, max_size=8), min_size=1, max_size=12)


def table_of(words, chance):
    rows = len(words)
    rng = np.random.default_rng(chance)
    numbers = np.where(rng.random(rows) < 0.3, np.nan, rng.normal(size=rows) * 1e6)
    days = np.array(["2024-02-29", "NaT"], dtype="datetime64[D]")[rng.integers(0, 2, rows)]
    column = TextColumn.from_words(words)
    condition = ConditionTable(
        rows=rows,
        numbers={"watts": numbers},
        texts={"brand": column},
        faults={"switch": column.take(slice(None, None, -1))},
        marks={"shade": column},
        parts={"bulb": column},
        locks={"key": column},
        sold_as=column,
        sold_on=days,
    )
    return SalesTable(
        condition=condition,
        price=np.exp(rng.normal(size=rows)),
        currency="EUR",
        asked=rng.random(rows) < 0.5,
        refunded=rng.random(rows) < 0.5,
        ask=numbers,
        listed_on=days,
        withdrawn_on=days,
        still_listed=rng.random(rows) < 0.5,
    )


def back(sales):
    columns = columns_of(sales)
    rows = [json.loads(text) for text in cells_of(sales, columns)]
    by_column = dict(zip(columns, zip(*rows, strict=True), strict=True))
    return sales_of_cells(by_column, sales.price.tolist(), list(range(1, sales.rows + 1)), sales.currency)


@given(WORDS, st.integers(0, 1000))
def test_a_table_comes_back_cell_by_cell(words, chance):
    sales = table_of(words, chance)
    again = back(sales)
    assert columns_of(again) == columns_of(sales)
    assert list(cells_of(again, columns_of(sales))) == list(cells_of(sales, columns_of(sales)))
    assert again.price.tolist() == sales.price.tolist()
    assert [again.condition.texts["brand"].word(row) for row in range(sales.rows)] == words
    assert again.line.tolist() == list(range(1, sales.rows + 1))


def test_what_a_table_does_not_have_it_does_not_get():
    sales = SalesTable(ConditionTable(rows=1), np.ones(1), "", np.zeros(1, bool), np.zeros(1, bool))
    again = back(sales)
    assert again.ask is again.listed_on is again.condition.sold_on is again.condition.sold_as is None
    assert again.currency == ""
