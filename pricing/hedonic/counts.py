"""What a design learns from single columns of sales: counts that add up over parts of the sales, exactly.

Means, deviations and quantiles of a number are taken from its distinct values with their counts; they are those that
all rows would give, whatever the parts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from pricing.records.sales_table import ConditionTable, DayArray, FloatArray, TextColumn

Key = TypeVar("Key")
Level = tuple[str | None, ...]
CountArray = NDArray[np.int64]
_FIRST_DAY, _LAST_DAY = np.iinfo(np.int64).max, np.iinfo(np.int64).min


@dataclass(frozen=True, eq=False)
class NumberCounts:
    """A column of numbers.

    Attributes:
        values: shape (distinct,), the finite numbers upwards, each once.
        counts: shape (distinct,), rows with each.
        blanks: Rows that state no number.
    """

    values: FloatArray
    counts: CountArray
    blanks: int

    @property
    def stated(self) -> int:
        """Number of rows with a number."""
        return int(self.counts.sum())

    def plus(self, other: NumberCounts) -> NumberCounts:
        """Return the counts of both parts together."""
        values, places = np.unique(np.concatenate([self.values, other.values]), return_inverse=True)
        counts = np.zeros(len(values), dtype=np.int64)
        np.add.at(counts, places, np.concatenate([self.counts, other.counts]))
        return NumberCounts(values, counts, self.blanks + other.blanks)

    def at(self, values: FloatArray) -> NumberCounts:
        """Return the counts with an increasing function of the values in their place, shape (distinct,)."""
        return NumberCounts(values, self.counts, self.blanks)

    def mean(self, columns: FloatArray) -> FloatArray:
        """Return means over all stated rows of what each distinct value gives, shape (distinct,) or more."""
        return np.asarray(np.tensordot(self.counts, columns, axes=1) / self.stated, dtype=np.float64)

    def variance(self, columns: FloatArray) -> FloatArray:
        """Return variances over all stated rows of what each distinct value gives, shape (distinct,) or more."""
        return self.mean((columns - self.mean(columns)) ** 2)

    def quantiles(self, shares: FloatArray) -> FloatArray:
        """Return quantiles of the stated rows, straight between neighbours: numpy's linear method.

        Args:
            shares: Each from 0 to 1.
        """
        places = shares * (self.stated - 1)
        below = np.floor(places).astype(np.int64)
        ends = np.cumsum(self.counts)
        lower, upper = (
            self.values[np.searchsorted(ends, np.minimum(place, self.stated - 1), side="right")]
            for place in (below, below + 1)
        )
        share, gap = places - below, upper - lower
        return np.where(share < 0.5, lower + gap * share, upper - gap * (1 - share))


def count_numbers(values: FloatArray) -> NumberCounts:
    """Return the counts of a column, shape (rows,); what is not finite is not stated."""
    distinct, counts = np.unique(values[np.isfinite(values)], return_counts=True)
    return NumberCounts(distinct, counts.astype(np.int64), len(values) - int(counts.sum()))


@dataclass(frozen=True, eq=False)
class WordCounts:
    """A column of words: rows with each word, and rows that state none."""

    words: Mapping[str, int]
    blanks: int

    def plus(self, other: WordCounts) -> WordCounts:
        """Return the counts of both parts together."""
        return WordCounts(_added(self.words, other.words), self.blanks + other.blanks)


def count_words(columns: Mapping[str, TextColumn]) -> dict[str, WordCounts]:
    """Return the counts of each column by its name; a word that no row has is left out."""
    found = {}
    for name, column in columns.items():
        counts = np.bincount(column.codes + 1, minlength=len(column.levels) + 1).tolist()
        words = {word: count for word, count in zip(column.levels, counts[1:], strict=True) if count}
        found[name] = WordCounts(words, counts[0])
    return found


@dataclass(frozen=True, eq=False)
class LevelCounts:
    """Columns from an outermost parent inwards: rows with each combination of words, None: not stated."""

    levels: Mapping[Level, int]

    def plus(self, other: LevelCounts) -> LevelCounts:
        """Return the counts of both parts together."""
        return LevelCounts(_added(self.levels, other.levels))


def count_levels(path: Sequence[str], table: ConditionTable) -> LevelCounts:
    """Return the counts of the combinations in the columns of ``path``; a column that is not there states nothing."""
    codes, words = combined_levels([table.texts.get(name) for name in path], table.rows)
    counts = np.bincount(codes, minlength=len(words)).tolist()
    return LevelCounts(dict(zip(words, counts, strict=True)) if words else {})


def combined_levels(columns: Sequence[TextColumn | None], rows: int) -> tuple[CountArray, list[Level]]:
    """Return for each row the number of its combination of words, and the combinations.

    Args:
        columns: From the outermost parent inwards; None: not stated anywhere.
        rows: Number of rows.
    """
    codes = np.zeros(rows, dtype=np.int64)
    for column in columns:
        width = 1 if column is None else len(column.levels) + 1
        codes = codes * width + (0 if column is None else column.codes.astype(np.int64) + 1)
        _, codes = np.unique(codes, return_inverse=True)
    if not columns or not rows:
        return codes, []
    first = np.unique(codes, return_index=True)[1]
    words: list[Level] = [
        tuple(None if column is None else column.word(int(row)) for column in columns) for row in first
    ]
    return codes, words


@dataclass(frozen=True)
class DayCounts:
    """A column of days, each as days since 1970-01-01.

    Attributes:
        first, last: The span of the dated rows; first after last: none is dated.
        dated: Rows with a day.
        blanks: Rows without.
    """

    first: int
    last: int
    dated: int
    blanks: int

    def plus(self, other: DayCounts) -> DayCounts:
        """Return the counts of both parts together."""
        return DayCounts(
            first=min(self.first, other.first),
            last=max(self.last, other.last),
            dated=self.dated + other.dated,
            blanks=self.blanks + other.blanks,
        )


def count_days(days: DayArray | None, rows: int) -> DayCounts:
    """Return the counts of a column of days, shape (rows,); None: no row is dated."""
    if days is None:
        return DayCounts(_FIRST_DAY, _LAST_DAY, 0, rows)
    dated = days[~np.isnat(days)].astype("datetime64[D]").astype(np.int64)
    if not len(dated):
        return DayCounts(_FIRST_DAY, _LAST_DAY, 0, rows)
    return DayCounts(int(dated.min()), int(dated.max()), len(dated), rows - len(dated))


def _added(left: Mapping[Key, int], right: Mapping[Key, int]) -> dict[Key, int]:
    return {**left, **{key: left.get(key, 0) + count for key, count in right.items()}}
