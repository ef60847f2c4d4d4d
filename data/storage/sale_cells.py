"""Sales tables as rows of cells, and back: what lets a store keep one line for each sale.

A row's cells are the stated values in the order of its batch's columns; a column is named by its group in the
table ("texts", "faults", ...) and its name. Blanks are null.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from pricing.records.sales_table import ConditionTable, SalesTable, TextColumn

Cell = str | float | bool | None

_TEXT_GROUPS = ("texts", "faults", "marks", "parts", "locks")
_FLAGS = ("asked", "refunded", "still_listed")
_DAYS = ("sold_on", "listed_on", "withdrawn_on")


class ColumnName(NamedTuple):
    """Where a column stands in a sales table.

    Attributes:
        group: numbers, texts, faults, marks, parts, locks, or "sale" for what belongs to the sale itself.
        name: Its name in that group.
    """

    group: str
    name: str


def columns_of(sales: SalesTable) -> tuple[ColumnName, ...]:
    """Return the columns that the table has, in a fixed order; price and line are kept apart."""
    condition = sales.condition
    found = [ColumnName("numbers", name) for name in condition.numbers]
    for group in _TEXT_GROUPS:
        found += [ColumnName(group, name) for name in getattr(condition, group)]
    own: dict[str, object] = {
        "asked": sales.asked,
        "refunded": sales.refunded,
        "sold_as": condition.sold_as,
        "sold_on": condition.sold_on,
        "ask": sales.ask,
        "listed_on": sales.listed_on,
        "withdrawn_on": sales.withdrawn_on,
        "still_listed": sales.still_listed,
    }
    return (*found, *(ColumnName("sale", name) for name, column in own.items() if column is not None))


def cells_of(sales: SalesTable, columns: Sequence[ColumnName]) -> Iterator[str]:
    """Yield the cells of each sale as a JSON array in the order of ``columns``."""
    plain = [_plain(sales, column) for column in columns]
    for row in zip(*plain, strict=True):
        yield json.dumps(row, ensure_ascii=False, separators=(",", ":"))


def sales_of_cells(
    columns: Mapping[ColumnName, Sequence[Cell]], price: Sequence[float], line: Sequence[int], currency: str
) -> SalesTable:
    """Return the sales table of these columns of cells, each as long as ``price`` (in ``currency``)."""
    groups: dict[str, dict[str, TextColumn]] = {group: {} for group in _TEXT_GROUPS}
    numbers: dict[str, NDArray[np.float64]] = {}
    own: dict[str, Sequence[Cell]] = {}
    for (group, name), cells in columns.items():
        if group == "numbers":
            numbers[name] = _floats(cells)
        elif group == "sale":
            own[name] = cells
        else:
            groups[group][name] = _words(cells)
    nothing = [False] * len(price)
    flags = {name: np.array([bool(c) for c in own[name]], dtype=np.bool_) for name in _FLAGS if name in own}
    days = {name: np.array(own[name], dtype="datetime64[D]") for name in _DAYS if name in own}
    condition = ConditionTable(
        rows=len(price),
        numbers=MappingProxyType(numbers),
        **{group: MappingProxyType(found) for group, found in groups.items()},
        sold_as=_words(own["sold_as"]) if "sold_as" in own else None,
        sold_on=days.get("sold_on"),
    )
    return SalesTable(
        condition=condition,
        price=np.array(price, dtype=np.float64),
        currency=currency,
        asked=flags.get("asked", np.array(nothing, dtype=np.bool_)),
        refunded=flags.get("refunded", np.array(nothing, dtype=np.bool_)),
        ask=_floats(own["ask"]) if "ask" in own else None,
        listed_on=days.get("listed_on"),
        withdrawn_on=days.get("withdrawn_on"),
        still_listed=flags.get("still_listed"),
        line=np.array(line, dtype=np.int64),
    )


def _plain(sales: SalesTable, column: ColumnName) -> Sequence[Cell]:
    if column.group != "sale":
        found = getattr(sales.condition, column.group)[column.name]
    elif column.name in ("sold_as", "sold_on"):
        found = getattr(sales.condition, column.name)
    else:
        found = getattr(sales, column.name)
    if isinstance(found, TextColumn):
        # The code -1 (not stated) picks the last entry, which is None.
        return [(*found.levels, None)[code] for code in found.codes.tolist()]
    if found.dtype.kind == "M":
        return [None if day == "NaT" else str(day) for day in np.datetime_as_string(found, unit="D")]
    if found.dtype.kind == "b":
        return [bool(flag) for flag in found]
    return [None if number != number else number for number in found.tolist()]


def _floats(cells: Sequence[Cell]) -> NDArray[np.float64]:
    return np.array([np.nan if cell is None else cell for cell in cells], dtype=np.float64)


def _words(cells: Sequence[Cell]) -> TextColumn:
    return TextColumn.from_words([None if cell is None else str(cell) for cell in cells])
