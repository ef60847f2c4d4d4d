"""A delimited text file as columns of words, with the line of every row.

Each column keeps its distinct words once and a number per row, so that a check looks at each word once
however often it occurs, and a file of several hundred megabytes fits into memory.
"""

from __future__ import annotations

import csv
import sys
from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice
from pathlib import Path
from typing import Literal, TextIO

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from data.importing.delimiter import SAMPLE_ROWS, recognised_delimiter
from data.importing.encoding import recognised_encoding
from pricing.errors import BadInput, Problem, refused, shortened
from pricing.records.sales_table import IntArray

LONGEST_CELL = 100_000
MOST_COLUMNS = 5_000
_CHUNK_ROWS = 20_000
_SAMPLE_CHARACTERS = 1 << 18


@dataclass(frozen=True, eq=False)
class WordColumn:
    """One column of a text file.

    Attributes:
        codes: int32, shape (rows,): place in ``words``.
        words: The distinct cells exactly as they stand in the file.
    """

    codes: IntArray
    words: tuple[str, ...]

    @property
    def stripped(self) -> tuple[str, ...]:
        """The words without blanks around them."""
        return tuple(word.strip() for word in self.words)

    def rows_of(self, flags: Sequence[bool] | NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Return where a row holds a flagged word; ``flags`` has one value per word."""
        chosen: NDArray[np.bool_] = np.asarray(flags, dtype=np.bool_)[self.codes]
        return chosen


@dataclass(frozen=True, eq=False)
class TextTable:
    """A file as columns of words.

    Attributes:
        source: Name of the file.
        header: Column names, without blanks around them.
        columns: Name -> column.
        line: First line of each row in the file, int64, shape (rows,).
        broken: Row -> problem, for rows that are no row of this table: wrong number of cells, a quote never
            closed, a cell too long. Their missing cells are "".
        delimiter: The character between cells.
        notices: What the user should know of how the file was read.
        typed: Columns that the file itself says are numbers: their words have a decimal point, if any mark.
        numbered_by: What ``line`` counts: lines of a text file, or rows of one that has no lines.
    """

    source: str
    header: tuple[str, ...]
    columns: Mapping[str, WordColumn]
    line: NDArray[np.int64]
    broken: Mapping[int, Problem]
    delimiter: str
    notices: tuple[str, ...]
    typed: frozenset[str] = frozenset()
    numbered_by: Literal["line", "row"] = "line"

    @property
    def rows(self) -> int:
        """Number of rows, broken ones included."""
        return len(self.line)

    def problem(self, row: int, name: str, found: str, expected: str) -> Problem:
        """Return the problem of one cell, with the line or row of the file in which it stands."""
        number = int(self.line[row])
        if self.numbered_by == "row":
            return Problem(f"{self.source}, row {number}", None, name, found, expected)
        return Problem(self.source, number, name, found, expected)


def read_text_table(path: Path) -> TextTable:
    """Read a delimited text file with column names in its first line.

    Raises:
        NotFound: There is no such file.
        BadInput: Encoding, delimiter or column names are not usable, or there is no row.
    """
    return next(text_tables(path, sys.maxsize))


def text_tables(path: Path, most: int) -> Iterator[TextTable]:
    """Yield a delimited text file as tables of ``most`` rows, the last of what is left.

    Encoding and delimiter are those of the file; each table has its own distinct words.

    Raises:
        NotFound: There is no such file.
        BadInput: Encoding, delimiter or column names are not usable, or there is no row.
    """
    encoding = recognised_encoding(path)
    with path.open(encoding=encoding.name, newline="") as file:
        sample = _sample_lines(file)
        file.seek(0)
        rows = _Rows(file, recognised_delimiter(sample, path.name), path.name)
        header = _read_header(rows, path.name)
        notices = (encoding.notice,) if encoding.notice else ()
        table = _next_table(rows, header, most, notices)
        if table is None:
            raise no_rows(path.name)
        while table is not None:
            yield table
            table = _next_table(rows, header, most, notices)


def _next_table(rows: _Rows, header: tuple[str, ...], most: int, notices: tuple[str, ...]) -> TextTable | None:
    rows.start_table()
    gathered = GatheredColumns(len(header))
    while chunk := list(islice(rows, min(most - len(rows.lines), _CHUNK_ROWS))):
        gathered.add(chunk)
    if not rows.lines:
        return None
    table = TextTable(
        source=rows.source,
        header=header,
        columns=dict(zip(header, gathered.columns(), strict=True)),
        line=np.array(rows.lines, dtype=np.int64),
        broken=rows.problems,
        delimiter=rows.delimiter,
        notices=notices,
    )
    return without_long_cells(table)


def no_rows(source: str) -> BadInput:
    """Return the error that a file without a row is refused with."""
    problem = Problem(source, 1, None, "column names and no row", "one line per row below the names")
    return BadInput(str(problem), (problem,))


def without_long_cells(table: TextTable) -> TextTable:
    """Return the table with every row broken that has a cell too long to be one."""
    found: dict[int, Problem] = {}
    expected = f"at most {LONGEST_CELL:,} characters"
    for name, column in table.columns.items():
        too_long = [len(word) > LONGEST_CELL for word in column.words]
        for row in np.flatnonzero(column.rows_of(too_long)).tolist() if any(too_long) else ():
            told = f"{len(column.words[column.codes[row]]):,} characters"
            found[row] = table.problem(row, name, told, expected)
    return replace(table, broken={**table.broken, **found}) if found else table


def _sample_lines(file: TextIO) -> list[str]:
    lines: list[str] = []
    characters = 0
    for line in file:
        if lines or line.strip("\r\n"):
            lines.append(line)
            characters += len(line)
        if len(lines) > SAMPLE_ROWS or characters > _SAMPLE_CHARACTERS:
            break
    return lines


def _read_header(rows: _Rows, source: str) -> tuple[str, ...]:
    names = next(rows, [])
    problems = tuple(rows.problems.values())
    if problems:
        raise BadInput(str(problems[0]), problems)
    return checked_header(names, source)


def checked_header(row: Sequence[str], source: str) -> tuple[str, ...]:
    """Return column names without blanks around them.

    Raises:
        BadInput: There is none, one is empty or there twice, or there are too many.
    """
    header = tuple(name.strip() for name in row)
    problems = []
    if len(header) > MOST_COLUMNS:
        problems.append(Problem(source, 1, None, f"{len(header)} columns", f"at most {MOST_COLUMNS}"))
    for place, name in enumerate(header[:MOST_COLUMNS]):
        if not name:
            problems.append(Problem(source, 1, f"column {place + 1}", "an empty name", "a column name"))
        elif name in header[:place]:
            problems.append(Problem(source, 1, name, f"{shortened(name)} twice", "each column name once"))
    if not header:
        problems.append(Problem(source, 1, None, "no column names", "a first line of column names"))
    if problems:
        raise refused(source, problems)
    return header


class _Lines(Iterator[str]):
    """The lines of a file; those that were read since ``start_row`` can be given back."""

    def __init__(self, file: TextIO) -> None:
        self._file = file
        self._returned: deque[str] = deque()
        self._row: list[str] = []
        self.number = 0

    def __next__(self) -> str:
        line = self._returned.popleft() if self._returned else next(self._file)
        self._row.append(line)
        self.number += 1
        return line

    def start_row(self) -> int:
        """Begin a row; return the number of its first line."""
        self._row = []
        return self.number + 1

    @property
    def lines_in_row(self) -> int:
        """Lines read since ``start_row``."""
        return len(self._row)

    def give_back(self) -> None:
        """Give back all lines of this row but its first."""
        back = self._row[1:]
        self._returned.extendleft(reversed(back))
        self.number -= len(back)


class _Rows(Iterator[list[str]]):
    """Rows of cells with their lines; a row that cannot be read is a problem and never swallows the next."""

    def __init__(self, file: TextIO, delimiter: str, source: str) -> None:
        self._lines = _Lines(file)
        self.delimiter = delimiter
        self.source = source
        self._reader = self._new_reader()
        self._width: int | None = None
        self.problems: dict[int, Problem] = {}
        self.lines: list[int] = []

    def start_table(self) -> None:
        """Count rows and problems from here."""
        self.problems, self.lines = {}, []

    def _new_reader(self) -> Iterator[list[str]]:
        return csv.reader(self._lines, delimiter=self.delimiter, strict=True)

    def __next__(self) -> list[str]:
        while True:
            line = self._lines.start_row()
            try:
                row = next(self._reader)
            except csv.Error as error:
                self.lines.append(line)
                return self._unreadable_row(str(error))
            if row:
                self.lines.append(line)
                return row if len(row) == self._width else self._odd_row(row)

    def _odd_row(self, row: list[str]) -> list[str]:
        if self._width is None:
            self._width = len(row)
            return row
        self._report(f"{len(row)} cells", f"{self._width} cells, as many as there are column names")
        return (row + [""] * self._width)[: self._width]

    def _unreadable_row(self, message: str) -> list[str]:
        if "field larger" in message:
            found = f"a cell of more than {LONGEST_CELL:,} characters"
            self._report(found, "a shorter cell, or a closed quote")
        else:
            self._report("a quote that is not closed where its cell ends", 'quotes inside a cell doubled: ""')
        return [""] * (self._width or 0)

    def _report(self, found: str, expected: str) -> None:
        line = self.lines[-1]
        self.problems[len(self.lines) - 1] = Problem(self.source, line, None, found, expected)
        if self._lines.lines_in_row > 1:
            # A stray quote may have drawn whole rows into one cell; they are read again on their own.
            self._lines.give_back()
            self._reader = self._new_reader()


@dataclass
class GatheredColumns:
    """Columns that grow chunk by chunk."""

    width: int
    _places: list[dict[str, int]] = field(init=False)
    _codes: list[list[IntArray]] = field(init=False)

    def __post_init__(self) -> None:
        self._places = [{} for _ in range(self.width)]
        self._codes = [[] for _ in range(self.width)]

    def add(self, chunk: Sequence[Sequence[str]]) -> None:
        """Add rows of ``width`` cells."""
        for place, cells in enumerate(zip(*chunk, strict=True)):
            self.add_coded(place, *pd.factorize(np.array(cells, dtype=object)))

    def add_coded(self, place: int, codes: NDArray[np.integer], words: Iterable[str]) -> None:
        """Add rows of one column: for each row its place in ``words``."""
        known = self._places[place]
        codes_of_words = [known.setdefault(word, len(known)) for word in words]
        self._codes[place].append(np.array(codes_of_words, dtype=np.int32)[codes])

    def columns(self) -> list[WordColumn]:
        """All columns gathered so far."""
        return [
            WordColumn(np.concatenate(codes), tuple(known))
            for codes, known in zip(self._codes, self._places, strict=True)
        ]
