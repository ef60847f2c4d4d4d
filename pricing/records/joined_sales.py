"""Tables of sales joined to one table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.records.sales_table import (
    NOT_STATED,
    BoolArray,
    ConditionTable,
    DayArray,
    FloatArray,
    SalesTable,
    TextColumn,
)

_NO_NUMBER: FloatArray = np.full(1, np.nan)
_NO_DAY: DayArray = np.full(1, np.datetime64("NaT", "D"))


def joined(tables: Sequence[SalesTable]) -> SalesTable:
    """Return the sales of several tables as one, in their order; a column that a table lacks states nothing there.

    Args:
        tables: At least one, all in one currency.

    Raises:
        ValueError: There is none, or their currencies differ.
    """
    if len({table.currency for table in tables}) != 1:
        raise ValueError("tables to be joined must be of one currency")
    whole = {name: [getattr(table, name) for table in tables] for name in ("price", "asked", "refunded")}
    blanks: dict[str, FloatArray | DayArray | BoolArray] = {
        "ask": _NO_NUMBER, "listed_on": _NO_DAY, "withdrawn_on": _NO_DAY, "still_listed": np.zeros(1, dtype=np.bool_),
    }  # fmt: skip
    rows = [table.rows for table in tables]
    optional = {name: _joined_arrays([getattr(table, name) for table in tables], rows, blank)
                for name, blank in blanks.items()}  # fmt: skip
    lines = [table.line for table in tables if table.line is not None]
    return SalesTable(
        condition=_joined_conditions([table.condition for table in tables]),
        currency=tables[0].currency,
        line=np.concatenate(lines) if len(lines) == len(tables) else None,
        **{name: np.concatenate(arrays) for name, arrays in whole.items()},
        **optional,
    )


def _joined_conditions(tables: Sequence[ConditionTable]) -> ConditionTable:
    rows = [table.rows for table in tables]
    texts: dict[str, Mapping[str, TextColumn]] = {}
    for kind in ("texts", "faults", "marks", "parts", "locks"):
        columns: list[Mapping[str, TextColumn]] = [getattr(table, kind) for table in tables]
        found = {name: _joined_texts([each.get(name) for each in columns], rows) for name in _names(columns)}
        texts[kind] = {name: column for name, column in found.items() if column is not None}
    numbers = [table.numbers for table in tables]
    found_numbers = {
        name: _joined_arrays([each.get(name) for each in numbers], rows, _NO_NUMBER) for name in _names(numbers)
    }
    return ConditionTable(
        rows=sum(rows),
        numbers={name: values for name, values in found_numbers.items() if values is not None},
        sold_as=_joined_texts([table.sold_as for table in tables], rows),
        sold_on=_joined_arrays([table.sold_on for table in tables], rows, _NO_DAY),
        **texts,
    )


def _names(columns: Sequence[Mapping[str, object]]) -> list[str]:
    return list(dict.fromkeys(name for each in columns for name in each))


def _joined_arrays(arrays: Sequence[Any], rows: Sequence[int], blank: NDArray[Any]) -> Any:  # noqa: ANN401 - whatever kind of array it is given
    if all(array is None for array in arrays):
        return None
    return np.concatenate(
        [np.repeat(blank, count) if array is None else array for array, count in zip(arrays, rows, strict=True)]
    )


def _joined_texts(columns: Sequence[TextColumn | None], rows: Sequence[int]) -> TextColumn | None:
    """Return one column of the words of all, its levels sorted."""
    stated = [column for column in columns if column is not None]
    if not stated:
        return None
    levels = tuple(sorted({level for column in stated for level in column.levels}))
    places = {level: code for code, level in enumerate(levels)}
    codes = [
        np.full(count, NOT_STATED, dtype=np.int32)
        if column is None
        # The last place is that of -1, not stated.
        else np.array([*(places[level] for level in column.levels), NOT_STATED], dtype=np.int32)[column.codes]
        for column, count in zip(columns, rows, strict=True)
    ]
    return TextColumn(np.concatenate(codes), levels)
