"""Units from a CSV file: the columns of a sales file without the price.

``sold_on`` is here the day for which the unit is to be priced. A price column and unknown columns are passed
through and not used. Every row keeps its place: a bad one is not stated throughout and named in ``bad``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from data.importing.condition_columns import NumberColumns, number_names, read_condition
from data.importing.days import read_days
from data.importing.findings import Findings
from data.importing.header import ADDED_COLUMNS, sorted_columns
from data.importing.tables import read_table
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
    """Read a units file.

    Raises:
        NotFound: There is no such file.
        BadInput: The file as a whole cannot be used: encoding, delimiter, column names, or no row.
    """
    table = read_table(path)
    _refuse_added(table)
    header = sorted_columns(table.header, device_class, table.source)
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
    numbers = NumberColumns.of(table, number_names(header))
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
