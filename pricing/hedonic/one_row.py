"""One unit as a raw design row, straight from its cells: a table of one row would take longer than all the rest.

What a term says of specifications and of the day is made by its reader of tables, and remembered by the cells that it
reads; conditions, of which there are too many to remember, are looked up thing by thing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property, partial
from typing import Generic, TypeVar

import numpy as np

from pricing.hedonic.design import Design, Place, Term
from pricing.hedonic.fault_term import FaultTerm
from pricing.hedonic.interaction_term import ProductTerm, SlopeTerm
from pricing.hedonic.level_term import LevelTerm
from pricing.hedonic.market_term import MarketTerm
from pricing.hedonic.number_term import NumberTerm
from pricing.hedonic.pieces import DenseRows, Remembered, Strip
from pricing.hedonic.state_term import StateTerm
from pricing.hedonic.time_term import TimeTerm
from pricing.records.sales_table import ConditionTable, FloatArray, TextColumn
from pricing.records.unit_columns import UnitCells

Made = TypeVar("Made")
# None stands for a number that is not stated: NaN is not equal to itself, so it could not be found again.
Specification = tuple[tuple[float | None, ...], tuple[str | None, ...], date | None]


@dataclass(frozen=True, eq=False)
class BySpecification(Generic[Made]):
    """What is made of some columns of specifications, remembered by their cells.

    Attributes:
        numbers, texts: Names of the columns.
        dated: Whether the day counts.
        make: From a table of one row with these columns alone.
    """

    numbers: tuple[str, ...]
    texts: tuple[str, ...]
    dated: bool
    make: Callable[[ConditionTable], Made]

    def of(self, cells: UnitCells, day: date | None) -> Made:
        """Return what is made of a unit on a day."""
        numbers = [cells.numbers.get(name) for name in self.numbers]
        known = tuple([None if number != number else number for number in numbers])
        return self._remembered[known, tuple(map(cells.texts.get, self.texts)), day if self.dated else None]

    @cached_property
    def _remembered(self) -> Remembered[Specification, Made]:
        return Remembered(self._new)

    def _new(self, cells: Specification) -> Made:
        numbers = [np.array([np.nan if number is None else number]) for number in cells[0]]
        texts = [TextColumn.from_words([word]) for word in cells[1]]
        table = ConditionTable(
            rows=1,
            numbers=dict(zip(self.numbers, numbers, strict=True)),
            texts=dict(zip(self.texts, texts, strict=True)),
            sold_on=None if cells[2] is None else np.array([cells[2]], dtype="datetime64[D]"),
        )
        return self.make(table)


@dataclass(frozen=True, eq=False)
class ReadUnit:
    """What the fitted effects say of one unit, read as in ``ReadUnits``.

    Attributes:
        mean: r beta of the unit as read.
        own: What ``variance`` made of it.
        unseen: shape (depths,): how far it reaches beyond the levels seen.
    """

    mean: float
    own: float
    unseen: FloatArray


@dataclass(frozen=True, eq=False)
class RowReader:
    """Reads units one by one.

    Attributes:
        design: The columns.
        effects: beta, shape (raw columns,).
        variance: From raw rows to the variance of each, shape (rows,).
    """

    design: Design
    effects: FloatArray
    variance: Callable[[DenseRows], FloatArray]

    @cached_property
    def _placed(self) -> tuple[tuple[Term, Place], ...]:
        return tuple(zip(self.design.terms, self.design.places, strict=True))

    @cached_property
    def _specifications(self) -> tuple[tuple[Term, BySpecification[Strip]], ...]:
        return tuple(
            (term, BySpecification(*columns_read(term), partial(_strip, term, place)))
            for term, place in self._placed
            if not isinstance(term, FaultTerm | StateTerm)
        )

    @cached_property
    def _conditions(self) -> tuple[tuple[StateTerm, Place], ...]:
        return tuple((term, place) for term, place in self._placed if isinstance(term, StateTerm))

    @cached_property
    def _faults(self) -> tuple[FaultTerm, Place] | None:
        return next(((term, place) for term, place in self._placed if isinstance(term, FaultTerm)), None)

    @cached_property
    def _parts_column(self) -> int | None:
        """The raw column of units sold for parts; None: no sales tell what that is worth."""
        market = self.design.market
        place = self.design.places[self.design.terms.index(market)]
        return place.dense + market.dense_columns - 1 if market.parts else None

    def strips(self, cells: UnitCells, day: date | None) -> list[tuple[Term, Strip]]:
        """Return what each term of specifications and time says of a unit on a day."""
        return [(term, said.of(cells, day)) for term, said in self._specifications]

    def read(self, cells: UnitCells, strips: Sequence[tuple[Term, Strip]]) -> ReadUnit:
        """Read one unit, as ``read_units`` does many.

        Args:
            cells: The unit.
            strips: Those of the unit on the day that it is priced for.
        """
        bare = np.zeros((1, self.design.columns))
        columns, values = [0], [1.0]
        for _, strip in strips:
            columns += strip.columns
            values += strip.values
        bare[0, columns] = values
        row, mean = self._lowest(bare, cells)
        if self._parts_column is not None:
            as_parts = bare.copy()
            as_parts[0, self._parts_column] = 1.0
            bare_mean = self._mean(as_parts)
            row, mean = (as_parts, bare_mean) if bare_mean > mean else (row, mean)
        own = float(self.variance(DenseRows(row))[0])
        return ReadUnit(mean, own, np.array([depth for _, strip in strips for depth in strip.unseen]))

    def _lowest(self, bare: FloatArray, cells: UnitCells) -> tuple[FloatArray, float]:
        """Return the unit's row with its condition, told in the way of the lowest price, and its mean."""
        row = bare.copy()
        for term, at in self._conditions:
            row[0, [at.hot + place for place in term.places_of_one(getattr(cells, term.kind))]] = 1.0
        if self._faults is None:
            return row, self._mean(row)
        faults, at = self._faults
        strips = [faults.strip(words, at.dense, at.hot) for words in faults.readings_of_one(cells.faults)]
        rows = [_with_strip(row, strip) for strip in strips]
        # Of equally low ones the first.
        return min(((each, self._mean(each)) for each in rows), key=lambda each: each[1])

    def _mean(self, row: FloatArray) -> float:
        return float((row @ self.effects)[0])


def columns_read(term: Term) -> tuple[tuple[str, ...], tuple[str, ...], bool]:
    """Return the names of the number and of the text columns that a term reads, and whether it reads the day."""
    if isinstance(term, NumberTerm):
        return (term.name,), (), False
    if isinstance(term, LevelTerm):
        return (), term.path, False
    if isinstance(term, ProductTerm):
        return tuple(number.name for number in term.numbers), (), False
    if isinstance(term, SlopeTerm):
        return tuple(number.name for number in term.numbers), term.levels.path, False
    return (), (), isinstance(term, TimeTerm)


def _strip(term: Term, place: Place, table: ConditionTable) -> Strip:
    """Return what a term says of a table of one row, by numbers of raw columns."""
    piece = term.piece(table, None) if isinstance(term, MarketTerm) else term.piece(table)
    dense = np.flatnonzero(piece.dense[0])
    hot = piece.places[0][piece.places[0] >= 0]
    return Strip(
        columns=[*(place.dense + dense).tolist(), *(place.hot + hot).tolist()],
        values=[*piece.dense[0, dense].tolist(), *[1.0] * len(hot)],
        unseen=piece.unseen[0].tolist(),
        sales=int(term.sales_of(table)[0]) if isinstance(term, LevelTerm) else None,
        outside=float(term.outside(table)[0]) if isinstance(term, NumberTerm) else 0.0,
    )


def _with_strip(row: FloatArray, strip: Strip) -> FloatArray:
    found = row.copy()
    found[0, strip.columns] = strip.values
    return found
