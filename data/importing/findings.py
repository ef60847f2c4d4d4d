"""What is wrong in one file, cell by cell, and which rows it spoils."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from data.importing.text_table import TextTable, WordColumn
from pricing.errors import Problem, shortened
from pricing.records.sales_table import BoolArray


class Findings:
    """Collects problems and notices while a file is read; a row with any problem is bad."""

    def __init__(self, table: TextTable) -> None:
        self.notices: list[str] = list(table.notices)
        self._table = table
        self._problems: list[tuple[int, Problem]] = list(table.broken.items())
        self._skipped: BoolArray = np.zeros(table.rows, dtype=np.bool_)
        self._skipped[list(table.broken)] = True
        self.bad: BoolArray = self._skipped.copy()

    def report_words(self, name: str, column: WordColumn, bad_words: Mapping[int, str]) -> None:
        """Report every cell that holds a bad word; ``bad_words`` says per word what was expected."""
        if not bad_words:
            return
        flags = np.zeros(len(column.words), dtype=np.bool_)
        flags[list(bad_words)] = True
        for row in self._report(column.rows_of(flags)):
            code = int(column.codes[row])
            self._add(row, name, shortened(column.words[code].strip()), bad_words[code])

    def report_rows(self, name: str, rows: BoolArray, expected: str) -> None:
        """Report the cells of one column in all rows that are flagged."""
        column = self._table.columns.get(name)
        for row in self._report(rows):
            word = "" if column is None else column.words[int(column.codes[row])].strip()
            self._add(row, name, shortened(word) if word else "nothing", expected)

    def note(self, notice: str | None) -> None:
        """Keep a notice, once."""
        if notice is not None and notice not in self.notices:
            self.notices.append(notice)

    @property
    def problems(self) -> tuple[Problem, ...]:
        """All problems in the order of the file's lines."""
        return tuple(problem for _, problem in sorted(self._problems, key=lambda pair: pair[0]))

    def reasons(self) -> dict[int, str]:
        """Bad row -> its first problem in one sentence."""
        first: dict[int, str] = {}
        for row, problem in self._problems:
            first.setdefault(row, str(problem))
        return dict(sorted(first.items()))

    def _report(self, rows: BoolArray) -> list[int]:
        told = np.flatnonzero(rows & ~self._skipped)
        self.bad[told] = True
        return [int(row) for row in told]

    def _add(self, row: int, name: str, found: str, expected: str) -> None:
        self._problems.append((row, self._table.problem(row, name, found, expected)))
