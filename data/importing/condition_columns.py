"""Specifications and condition of the rows of a sales or units file, checked word by word."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from data.importing.findings import Findings
from data.importing.header import Header
from data.importing.numerals import Mark, Marks, Numbers, Shapes, proven_mark, read_numbers, shapes_of
from data.importing.text_table import TextTable, WordColumn
from data.importing.words import (
    ANY_WORDS,
    CONTRACT_TEXTS,
    LOCK_WORDS,
    ORIGIN_WORDS,
    SOLD_AS_WORDS,
    STATUS_WORDS,
    YES_NO,
    Words,
    mark_words,
    option_words,
)
from pricing.records.sales_table import (
    NOT_STATED,
    BoolArray,
    ConditionTable,
    DayArray,
    FloatArray,
    TextColumn,
)

MOST_BATTERY_SHARE = 150.0


@dataclass(frozen=True, eq=False)
class NumberColumns:
    """All columns of numbers of one file: they show together which decimal mark the file uses."""

    shapes: Mapping[str, Shapes]
    marks: Mapping[str, Marks]
    file_mark: Mark | None

    @classmethod
    def of(
        cls, table: TextTable, names: tuple[str, ...], whole: Mapping[str, Marks] | None = None
    ) -> NumberColumns:
        """Look at the number columns that the file has among ``names``.

        Args:
            table: The file, or a part of it.
            names: Columns of numbers.
            whole: What the columns of the whole file show, where ``table`` is a part.
        """
        shapes = _shapes(table, names)
        marks = {name: each.marks for name, each in shapes.items()} if whole is None else whole
        untyped = [marks[name] for name in shapes if name not in table.typed]
        return cls(shapes, marks, proven_mark(untyped, table.delimiter))

    def read(self, name: str, table: TextTable, findings: Findings) -> FloatArray | None:
        """Return one column as float64 with NaN where not stated or bad; None when the file lacks it."""
        if name not in self.shapes:
            return None
        column = table.columns[name]
        numbers: Numbers = read_numbers(name, column, self.shapes[name], self.file_mark, self.marks[name])
        findings.report_words(name, column, numbers.bad_words)
        findings.note(numbers.notice)
        return numbers.values


def read_number_columns(
    table: TextTable, names: tuple[str, ...], findings: Findings, *, not_below_0: tuple[str, ...]
) -> dict[str, FloatArray]:
    """Return columns of numbers, shape (rows,) each, with NaN where not stated or bad, a column that lacks too.

    Args:
        table: The file.
        names: The columns.
        findings: Where bad cells are reported, and those below 0 of the columns ``not_below_0``.
        not_below_0: Some of the names.
    """
    known = NumberColumns.of(table, names)
    found: dict[str, FloatArray] = {}
    for name in names:
        values = known.read(name, table, findings)
        found[name] = np.full(table.rows, np.nan) if values is None else values
        if name in not_below_0:
            findings.report_rows(name, found[name] < 0, "0 or more")
    return found


def word_at(column: TextColumn | None, row: int) -> str | None:
    """Return a cell's word, None where it is not stated or the file lacks the column."""
    return None if column is None else column.word(row)


def marks_in(table: TextTable, names: tuple[str, ...]) -> dict[str, Marks]:
    """Return what the number columns that a table has among ``names`` show of their decimal marks."""
    return {name: shapes.marks for name, shapes in _shapes(table, names).items()}


def _shapes(table: TextTable, names: tuple[str, ...]) -> dict[str, Shapes]:
    return {
        name: shapes_of(table.columns[name], typed=name in table.typed) for name in names if name in table.columns
    }


def number_names(header: Header) -> tuple[str, ...]:
    """Return the names of the columns of numbers that a units file can have."""
    described = header.device_class.attributes_by_name
    return (*(name for name in header.attributes if described[name].kind == "number"), "battery_share")


def read_condition(
    table: TextTable,
    header: Header,
    numbers: NumberColumns,
    findings: Findings,
    sold_on: DayArray | None,
) -> ConditionTable:
    """Return the condition of every row; a bad cell is reported and not stated."""
    device_class = header.device_class
    _check_class(table, device_class.name, findings)
    shares = numbers.read("battery_share", table, findings)
    if shares is not None:
        outside = (shares < 0) | (shares > MOST_BATTERY_SHARE)
        findings.report_rows("battery_share", outside, "percent of the design capacity, 0 to 150")
        shares = np.where(outside, np.nan, shares)
    return ConditionTable(
        rows=table.rows,
        numbers=_read_numbers(table, header, numbers, findings)
        | ({} if shares is None else {"battery_share": shares}),
        texts=_read_texts(table, header, findings),
        faults=_read_group(table, header.faults, STATUS_WORDS, findings),
        marks=_read_group(table, header.marks, mark_words(device_class.fault_prior.marks), findings),
        parts=_read_group(table, header.parts, ORIGIN_WORDS, findings),
        locks=_read_group(table, header.locks, LOCK_WORDS, findings),
        sold_as=read_words("sold_as", table, SOLD_AS_WORDS, findings),
        sold_on=sold_on,
    )


def read_words(name: str, table: TextTable, allowed: Words, findings: Findings) -> TextColumn | None:
    """Return a column of checked words; a refused cell is reported. None when the file lacks the column."""
    column = table.columns.get(name)
    if column is None:
        return None
    kept: list[str] = []
    bad: dict[int, str] = {}
    for place, word in enumerate(column.stripped):
        value = allowed.meaning(word) if word else ""
        if value is None:
            bad[place] = allowed.expected
        kept.append(value or "")
    findings.report_words(name, column, bad)
    return _coded(column, kept)


def read_flags(name: str, table: TextTable, findings: Findings) -> BoolArray:
    """Return where a yes-or-no column says yes; a blank, or a file without the column, is no."""
    column = read_words(name, table, YES_NO, findings)
    if column is None:
        return np.zeros(table.rows, dtype=np.bool_)
    yes: BoolArray = np.array([*(level == "yes" for level in column.levels), False])[column.codes]
    return yes


def _coded(column: WordColumn, kept: list[str]) -> TextColumn:
    levels = tuple(sorted({word for word in kept if word}))
    place = {level: code for code, level in enumerate(levels)}
    codes = np.array([place.get(word, NOT_STATED) for word in kept], dtype=np.int32)
    return TextColumn(codes[column.codes], levels)


def _read_numbers(
    table: TextTable, header: Header, numbers: NumberColumns, findings: Findings
) -> dict[str, FloatArray]:
    read: dict[str, FloatArray] = {}
    for attribute in header.device_class.attributes:
        if attribute.kind != "number":
            continue
        values = numbers.read(attribute.name, table, findings)
        if values is None:
            values = np.full(table.rows, np.nan)
        elif attribute.scale == "log":
            low = values <= 0
            findings.report_rows(attribute.name, low, "a number above 0, because its scale is log")
            values = np.where(low, np.nan, values)
        read[attribute.name] = values
    return read


def _read_texts(table: TextTable, header: Header, findings: Findings) -> dict[str, TextColumn]:
    read: dict[str, TextColumn] = {}
    for attribute in header.device_class.attributes:
        if attribute.kind != "number":
            allowed = ANY_WORDS if attribute.options is None else option_words(attribute.options)
            column = read_words(attribute.name, table, allowed, findings)
            nowhere = np.full(table.rows, NOT_STATED, dtype=np.int32)
            read[attribute.name] = TextColumn(nowhere, ()) if column is None else column
    for name, allowed in CONTRACT_TEXTS.items():
        column = read_words(name, table, allowed, findings)
        if column is not None:
            read[name] = column
    return read


def _read_group(
    table: TextTable, columns: Mapping[str, str], allowed: Words, findings: Findings
) -> dict[str, TextColumn]:
    read: dict[str, TextColumn] = {}
    for name, column_name in columns.items():
        column = read_words(column_name, table, allowed, findings)
        if column is not None:
            read[name] = column
    return read


def _check_class(table: TextTable, name: str, findings: Findings) -> None:
    read_words("class", table, option_words((name,)), findings)
