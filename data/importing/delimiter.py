"""Which character parts the cells of a text table: read off the column names, confirmed by the rows."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass

from pricing.errors import BadInput, Problem, shortened

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
SAMPLE_ROWS = 200
_LEAST_AGREEMENT = 0.5


@dataclass(frozen=True)
class _Reading:
    """The names that a delimiter gives, and the share of rows that have as many cells."""

    delimiter: str
    columns: int
    agreement: float


def recognised_delimiter(sample: Sequence[str], source: str) -> str:
    """Return the delimiter of a table whose first lines are ``sample``, the column names first.

    Raises:
        BadInput: No delimiter, or more than one, fits both the names and the rows.
    """
    readings = [_read_with(delimiter, sample) for delimiter in DELIMITERS]
    parting = [reading for reading in readings if reading.columns > 1]
    if not parting:
        # One column: any character that occurs in no row will do.
        return max(readings, key=lambda reading: reading.agreement).delimiter
    fitting = [reading for reading in parting if reading.agreement == 1.0]
    fitting = fitting or [reading for reading in parting if reading.agreement >= _LEAST_AGREEMENT]
    if len(fitting) == 1:
        return fitting[0].delimiter
    named = ", ".join(DELIMITERS[reading.delimiter] for reading in fitting or parting)
    header = shortened(sample[0].rstrip("\r\n"))
    if fitting:
        found = f"column names that can be parted by {named}: {header}"
        raise _refused(source, found, "one delimiter; quote the cells that hold another one")
    found = f"column names parted by {named}, but rows with another number of cells: {header}"
    raise _refused(source, found, "the same delimiter and as many cells in every row as there are names")


def _read_with(delimiter: str, sample: Sequence[str]) -> _Reading:
    rows = _cells_in_rows(sample, delimiter)
    columns = rows[0] if rows else 0
    # A stray quote draws the rows below it into one cell, so each line is also read on its own.
    lines = [cells for line in sample[1:] for cells in _cells_in_rows([line], delimiter)]
    agreement = max(_agreement(rows[1:], columns), _agreement(lines, columns))
    return _Reading(delimiter, columns, agreement)


def _cells_in_rows(lines: Sequence[str], delimiter: str) -> list[int]:
    counts: list[int] = []
    reader = csv.reader(lines, delimiter=delimiter)
    try:
        counts.extend(len(row) for row in reader if row)
    except csv.Error:
        return counts  # a damaged row is reported when the table is read; here the rows before it count
    return counts


def _agreement(counts: Sequence[int], columns: int) -> float:
    return sum(count == columns for count in counts) / len(counts) if counts else 1.0


def _refused(source: str, found: str, expected: str) -> BadInput:
    problem = Problem(source, 1, None, found, expected)
    return BadInput(str(problem), (problem,))
