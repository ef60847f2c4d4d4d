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
    def _sayings(self) -> tuple[tuple[Term, Callable[[UnitCells, date | None], Strip]], ...]:
        """For each term what makes its strip."""
        found: list[tuple[Term, Callable[[UnitCells, date | None], Strip]]] = []
        for term, place in self._placed:
            if isinstance(term, FaultTerm | StateTerm):
                found.append((term, partial(_condition, term, place)))
            else:
                found.append((term, BySpecification(*columns_read(term), partial(_strip, term, place)).of))
        return tuple(found)

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
        """Return what each term says of a unit on a day, with statuses as they are told."""
        return [(term, say(cells, day)) for term, say in self._sayings]

    def read(self, cells: UnitCells, strips: Sequence[tuple[Term, Strip]]) -> ReadUnit:
        """Read one unit, as ``read_units`` does many.

        Args:
            cells: The unit.
            strips: Those of the unit on the day that it is priced for.
        """
        lasting = [strip for term, strip in strips if not isinstance(term, FaultTerm | StateTerm)]
        states = [strip for term, strip in strips if isinstance(term, StateTerm)]
        told = [self._row([*lasting, *states, faults]) for faults in self._tellings(cells, strips)]
        # Of equally high ones the first.
        row, mean = max(((each, self._mean(each)) for each in told), key=lambda each: each[1])
        if self._parts_column is not None:
            as_parts = self._row([*lasting, Strip([self._parts_column], [1.0])])
            bare_mean = self._mean(as_parts)
            row, mean = (as_parts, bare_mean) if bare_mean > mean else (row, mean)
        own = float(self.variance(DenseRows(row))[0])
        return ReadUnit(mean, own, np.array([depth for _, strip in strips for depth in strip.unseen]))

    def _tellings(self, cells: UnitCells, strips: Sequence[tuple[Term, Strip]]) -> list[Strip]:
        """Return the strips of faults, one for each way to tell the unit's statuses; see ``FaultTerm.readings``."""
        if self._faults is None:
            return [Strip((), ())]
        faults, place = self._faults
        as_told = next(strip for term, strip in strips if term is faults)
        together = sum(float(self.effects[c]) * value for c, value in zip(as_told.columns, as_told.values, strict=True))
        if together >= self._highest_failing:
            return [as_told]
        others = faults.tellings_of_one(cells.faults)[1:]
        return [as_told, *(faults.strip(words, place.dense, place.hot) for words in others)]

    @cached_property
    def _highest_failing(self) -> float:
        if self._faults is None:
            return -np.inf
        term, _ = self._faults
        return term.highest_failing(self.effects[self.design.term_columns(self.design.terms.index(term))])

    def _row(self, strips: Sequence[Strip]) -> FloatArray:
        row = np.zeros((1, self.design.columns))
        columns, values = [0], [1.0]
        for strip in strips:
            columns += strip.columns
            values += strip.values
        row[0, columns] = values
        return row

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


def _condition(term: FaultTerm | StateTerm, place: Place, cells: UnitCells, _day: date | None) -> Strip:
    """Return what a term says of a unit's condition."""
    if isinstance(term, FaultTerm):
        return term.strip(cells.faults, place.dense, place.hot)
    return term.strip(getattr(cells, term.kind), place.hot)
