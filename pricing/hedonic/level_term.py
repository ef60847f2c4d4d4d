"""Choices and groups: one effect for each level, drawn from a common spread; groups may be nested."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray

from pricing.hedonic.blocks import LEAST_LAMBDA, UNPENALISED, Block, BlockBuilder
from pricing.hedonic.counts import Level, LevelCounts, combined_levels, count_levels
from pricing.hedonic.pieces import NOWHERE, Piece, PlaceArray, Reader, Slots
from pricing.records.sales_table import NOT_STATED, ConditionTable, TextColumn

FEW_LEVELS = 20
_WIDEST_LOOKUP = 1_000_000


@dataclass(frozen=True, eq=False)
class LevelTerm:
    """One-hot columns of the levels that sales had.

    Attributes:
        name: Attribute or contract column.
        path: The attributes from the outermost parent to this one; a level is one value of each.
        levels: What the sales had, sorted; None in a place is "not stated", a level of its own.
        sales: Number of sales of each level.
        reference: Whether the first level is left out as the reference (penalties off).
        averaged: A row that states nothing, where all sales did, takes the average over sales, not an unseen
            level: a unit need not say on which channel it will be sold.
    """

    name: str
    path: tuple[str, ...]
    levels: tuple[Level, ...]
    sales: tuple[int, ...]
    reference: bool = False
    averaged: bool = False

    @property
    def dense_columns(self) -> int:
        """Number of dense columns."""
        return 0

    @property
    def hot_columns(self) -> int:
        """Number of one-hot columns."""
        return len(self.levels) - int(self.reference)

    @property
    def unseen_depths(self) -> int:
        """Depths at which a level may be unseen."""
        return 1

    @cached_property
    def _index(self) -> Mapping[Level, int]:
        return {level: number for number, level in enumerate(self.levels)}

    def _coded(self, table: ConditionTable) -> tuple[NDArray[np.integer], PlaceArray]:
        """Return a code for each row, and the number of the level of each code (the last: of -1)."""
        columns = [table.texts.get(name) for name in self.path]
        if len(columns) == 1 and columns[0] is not None:
            words: list[Level] = [*((word,) for word in columns[0].levels), (None,)]
            return columns[0].codes, self._known(words)
        width = math.prod(1 if column is None else len(column.levels) + 1 for column in columns)
        if width > _WIDEST_LOOKUP:
            codes, words = combined_levels(columns, table.rows)
            return codes, self._known(words)
        if width <= len(self.levels):
            return _codes(columns, table.rows), self._known(product(*(_words_of(column) for column in columns)))
        lookup = np.full(width, NOWHERE, dtype=np.int32)
        orders = [{word: code for code, word in enumerate(_words_of(column))} for column in columns]
        for number, level in enumerate(self.levels):
            code = 0
            for word, order in zip(level, orders, strict=True):
                code = code * len(order) + order[word] if word in order and code >= 0 else NOWHERE
            if code >= 0:
                lookup[code] = number
        return _codes(columns, table.rows), lookup

    def _known(self, words: Iterable[Level]) -> PlaceArray:
        return np.array([self._index.get(level, NOWHERE) for level in words] or [NOWHERE], dtype=np.int32)

    def numbers(self, table: ConditionTable) -> PlaceArray:
        """Return the number of each row's level, -1 for a level that no sale had."""
        codes, lookup = self._coded(table)
        return np.asarray(lookup[codes])

    def piece(self, table: ConditionTable) -> Piece:
        """Return the one-hot places."""
        return self.reader(table)(slice(0, table.rows))

    def reader(self, table: ConditionTable, hot_at: int = 0) -> Reader:
        """Return what reads blocks of the table's rows; places are counted from ``hot_at``."""
        codes, lookup = self._coded(table)
        columned = np.where(lookup >= int(self.reference), lookup - int(self.reference) + hot_at, NOWHERE)
        column = table.texts.get(self.name) if self.averaged else None
        silent_is_known = self.averaged and column is None
        slots, unknown = Slots((codes,), (columned.astype(np.int32),)), (lookup == NOWHERE).astype(np.float64)

        def read(part: slice) -> Piece:
            """Return the columns of some rows."""
            rows = part.stop - part.start
            unseen = np.zeros(rows) if silent_is_known else unknown[codes[part]]
            if column is not None:
                unseen[column.codes[part] == NOT_STATED] = 0.0
            return Piece(np.empty((rows, 0)), slots.places(part, rows).T, unseen[:, None])

        return read

    def describe(self, builder: BlockBuilder, _dense_at: int, hot_at: int) -> None:
        """Add one coefficient a level, of one variance; free ones when a level is the reference."""
        block = UNPENALISED if self.reference else builder.add_block(Block(self.name, least=LEAST_LAMBDA))
        for number in range(self.hot_columns):
            label = "/".join(word or "not stated" for word in self.levels[number + int(self.reference)])
            builder.add_coefficient(f"{self.name}={label}", block, [hot_at + number], [1.0])

    def sales_of(self, table: ConditionTable) -> NDArray[np.int64]:
        """Return how many sales each row's level had, 0 for unseen."""
        numbers = self.numbers(table)
        counts = np.append(np.array(self.sales, dtype=np.int64), 0)
        return np.asarray(counts[numbers])


def _codes(columns: Sequence[TextColumn | None], rows: int) -> NDArray[np.int64]:
    """Return one number for each row's combination of words; "not stated" comes first in each column."""
    codes = np.zeros(rows, dtype=np.int64)
    for column in columns:
        if column is not None:
            codes = codes * (len(column.levels) + 1) + column.codes + 1
    return codes


def _words_of(column: TextColumn | None) -> tuple[str | None, ...]:
    """Return the words in the order of ``_codes``."""
    return (None,) if column is None else (None, *column.levels)


def level_term(
    name: str, path: tuple[str, ...], table: ConditionTable, *, reference: bool = False, averaged: bool = False
) -> LevelTerm | None:
    """Return the term learnt from these sales, or None when they all have the same level."""
    return level_term_of(name, path, count_levels(path, table), reference=reference, averaged=averaged)


def level_term_of(
    name: str, path: tuple[str, ...], counts: LevelCounts, *, reference: bool = False, averaged: bool = False
) -> LevelTerm | None:
    """Return the term learnt from the counts of all sales, or None when they all have the same level."""
    if len(counts.levels) < 2:
        return None
    ordered = sorted(counts.levels, key=lambda level: tuple(word or "" for word in level))
    return LevelTerm(
        name=name,
        path=path,
        levels=tuple(ordered),
        sales=tuple(counts.levels[level] for level in ordered),
        reference=reference,
        averaged=averaged,
    )
