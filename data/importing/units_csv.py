"""Units from a CSV or Parquet file: the columns of a sales file without the price.

``sold_on`` is here the day for which the unit is to be priced. A price column and unknown columns are passed
through and not used. Every row keeps its place: a bad one is not stated throughout and named in ``bad``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from data.importing.condition_columns import NumberColumns, marks_in, number_names, read_condition
from data.importing.days import read_days
from data.importing.findings import Findings
from data.importing.header import ADDED_COLUMNS, Header, sorted_columns
from data.importing.numerals import Marks
from data.importing.tables import read_table, read_tables
from data.importing.text_table import TextTable
from pricing.errors import Problem, refused
from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import ConditionTable


@dataclass(frozen=True, eq=False)
class UnitsReading:
    """What a units file holds.

    Attributes:
        header: Column names in the file's order.
        cells: The original text of every row, as many cells as names.
        table: All rows in the file's order; bad cells are not stated.
        bad: Row (0-based) -> its first problem in one sentence.
        problems: One for each bad cell, in the order of lines.
        notices: What the user should know of how the file was read.
        device_class: The class, extended as by ``read_sales``.
    """

    header: tuple[str, ...]
    cells: tuple[tuple[str, ...], ...]
    table: ConditionTable
    bad: Mapping[int, str]
    problems: tuple[Problem, ...]
    notices: tuple[str, ...]
    device_class: DeviceClass


def read_units(path: Path, device_class: DeviceClass) -> UnitsReading:
    """Read a units file: CSV, or Parquet with the same columns.

    Raises:
        NotFound: There is no such file.
        BadInput: The file as a whole cannot be used: encoding, delimiter, column names, or no row.
    """
    table = read_table(path)
    return _reading(table, _header(table, device_class), None)


@dataclass(frozen=True, eq=False)
class UnitsFile:
    """A units file to be read piece by piece, with what only the whole of it shows.

    Attributes:
        path: Where it is.
        header: Column names in the file's order.
        rows: Number of rows, bad ones included.
        device_class: The class, before any column of the file adds to it.
        most: Largest number of rows of a piece.
        marks: What its columns of numbers show of their decimal marks.
        only: The file itself, when it is a single piece.
    """

    path: Path
    header: tuple[str, ...]
    rows: int
    device_class: DeviceClass
    most: int
    marks: Mapping[str, Marks]
    only: TextTable | None

    def pieces(self) -> Iterator[UnitsReading]:
        """Yield the units in the file's order; together the pieces say what ``read_units`` says.

        Raises:
            NotFound: The file has gone meanwhile.
            BadInput: It has changed and cannot be used any more.
        """
        for table in read_tables(self.path, self.most) if self.only is None else (self.only,):
            yield _reading(table, _header(table, self.device_class), self.marks)


def survey_units(path: Path, device_class: DeviceClass, most: int) -> UnitsFile:
    """Look through a units file once, holding no more than two pieces of it.

    Args:
        path: CSV or Parquet.
        device_class: The class of all units.
        most: Largest number of rows of a piece.

    Raises:
        NotFound: There is no such file.
        BadInput: The file as a whole cannot be used: encoding, delimiter, column names, or no row.
    """
    tables = read_tables(path, most)
    first = next(tables)
    names = number_names(_header(first, device_class))
    rows, marks, pieces = first.rows, marks_in(first, names), 1
    for table in tables:
        found = marks_in(table, names)
        marks = {name: marks[name].plus(each) for name, each in found.items()}
        rows, pieces = rows + table.rows, pieces + 1
    only = first if pieces == 1 else None
    return UnitsFile(path, first.header, rows, device_class, most, marks, only)


def _header(table: TextTable, device_class: DeviceClass) -> Header:
    _refuse_added(table)
    return sorted_columns(table.header, device_class, table.source)


def _reading(table: TextTable, header: Header, marks: Mapping[str, Marks] | None) -> UnitsReading:
    findings = Findings(table)
    for notice in header.notices():
        findings.note(notice)
    if "price" in table.columns:
        findings.note("the column price is passed through and not used")
    priced_on = None
    if "sold_on" in table.columns:
        days = read_days(table.columns["sold_on"], None)
        findings.report_words("sold_on", table.columns["sold_on"], days.bad_words)
        priced_on = days.values
    numbers = NumberColumns.of(table, number_names(header), marks)
    condition = read_condition(table, header, numbers, findings, priced_on)
    return UnitsReading(
        header=table.header,
        cells=_cells(table),
        table=condition,
        bad=findings.reasons(),
        problems=findings.problems,
        notices=tuple(findings.notices),
        device_class=header.device_class,
    )


def _refuse_added(table: TextTable) -> None:
    problems = [
        Problem(table.source, 1, name, f'a column named "{name}"', "another name: pricing adds this column")
        for name in table.header
        if name in ADDED_COLUMNS
    ]
    if problems:
        raise refused(table.source, problems)


def _cells(table: TextTable) -> tuple[tuple[str, ...], ...]:
    columns = [
        np.array(column.words, dtype=object)[column.codes].tolist() for column in table.columns.values()
    ]
    return tuple(zip(*columns, strict=True))
