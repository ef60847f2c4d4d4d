from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest

from pricing.records.sales_table import ConditionTable, SalesTable, TextColumn


def assert_same(found: ConditionTable, expected: ConditionTable) -> None:
    assert found.rows == expected.rows
    for item in fields(ConditionTable):
        left, right = getattr(found, item.name), getattr(expected, item.name)
        for name in left if isinstance(left, dict) else ():
            assert np.array_equal(_cells(left[name]), _cells(right[name]))
        assert np.array_equal(_cells(left), _cells(right))


def _cells(column: object) -> object:
    return column.codes if isinstance(column, TextColumn) else column if isinstance(column, np.ndarray) else 0


@pytest.mark.parametrize("rows", [slice(3, 9), slice(0, 0), slice(230, 999), slice(None)])
def test_a_part_holds_the_rows_that_taking_them_one_by_one_gives(sales: SalesTable, rows: slice) -> None:
    assert_same(sales.condition.part(rows), sales.condition.take(np.arange(sales.rows)[rows]))


def test_a_part_copies_nothing(sales: SalesTable) -> None:
    part = sales.condition.part(slice(3, 9))
    assert np.shares_memory(part.numbers["storage_gb"], sales.condition.numbers["storage_gb"])
    assert np.shares_memory(part.faults["wifi"].codes, sales.condition.faults["wifi"].codes)


@pytest.mark.parametrize("word", ["dead", "", None])
def test_a_column_of_one_cell_is_as_in_a_column_of_many(word: str | None) -> None:
    one, many = TextColumn.from_words([word]), TextColumn.from_words([word, "works"])
    assert one.word(0) == many.word(0)
    assert one.codes.dtype == many.codes.dtype
    assert one.rows_stated == int(bool(word))


def test_the_whole_table_is_a_part_of_itself(sales: SalesTable) -> None:
    assert sales.condition.part(slice(0, sales.rows)) is sales.condition
    backwards = sales.condition.part(slice(None, None, -1))
    assert np.array_equal(backwards.numbers["storage_gb"], sales.condition.numbers["storage_gb"][::-1])
