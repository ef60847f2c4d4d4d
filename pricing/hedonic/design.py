"""From columns of units to raw design rows; remembers levels, so that a new unit gets the same columns."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from pricing.hedonic.blocks import UNPENALISED, BlockBuilder, BlockTable
from pricing.hedonic.condition_terms import lock_term, mark_term, part_term
from pricing.hedonic.fault_term import FaultTerm, fault_term
from pricing.hedonic.interaction_term import ProductTerm, SlopeTerm
from pricing.hedonic.level_term import LevelTerm, level_term_of
from pricing.hedonic.market_term import MarketTerm, sold_for_parts
from pricing.hedonic.number_term import NumberTerm, number_term
from pricing.hedonic.pieces import NOWHERE, PlaceArray, RawRows, Reader
from pricing.hedonic.signs import constraint_matrix
from pricing.hedonic.splines import MOST_KNOTS
from pricing.hedonic.state_term import ConstraintRow, StateTerm
from pricing.hedonic.summary import CONTRACT_TEXTS, SalesSummary, path_of
from pricing.hedonic.time_term import TimeTerm, time_term
from pricing.records.device_class import Attribute, DeviceClass
from pricing.records.sales_table import BoolArray, ConditionTable, FloatArray

Term = NumberTerm | LevelTerm | TimeTerm | MarketTerm | FaultTerm | StateTerm | ProductTerm | SlopeTerm
CHUNK_ROWS = 16_384
_FEWEST_PARTS_SALES = 5


@dataclass(frozen=True, eq=False)
class Place:
    """Where a term's raw columns are: first dense, first one-hot (counted over all columns), first depth."""

    dense: int
    hot: int
    depth: int


@dataclass(frozen=True, eq=False)
class Design:
    """The terms of a fitted class, in a fixed order.

    Attributes:
        terms: Market, numbers, choices and groups, faults, marks, locks, parts, time.
        alike: Attributes left out because all sales are alike in them: name -> that value, None: never stated.
    """

    terms: tuple[Term, ...]
    alike: Mapping[str, str | None] = field(default_factory=dict)

    @cached_property
    def dense_columns(self) -> int:
        """Number of dense raw columns, the constant included."""
        return 1 + sum(term.dense_columns for term in self.terms)

    @cached_property
    def hot_columns(self) -> int:
        """Number of one-hot raw columns."""
        return sum(term.hot_columns for term in self.terms)

    @cached_property
    def columns(self) -> int:
        """Number of raw columns."""
        return self.dense_columns + self.hot_columns

    @cached_property
    def places(self) -> tuple[Place, ...]:
        """The place of each term's columns."""
        dense, hot, depth = 1, self.dense_columns, 0
        found = []
        for term in self.terms:
            found.append(Place(dense, hot, depth))
            dense += term.dense_columns
            hot += term.hot_columns
            depth += term.unseen_depths
        return tuple(found)

    @cached_property
    def faults(self) -> FaultTerm | None:
        """The term of faults, if the class has functions."""
        return next((term for term in self.terms if isinstance(term, FaultTerm)), None)

    @cached_property
    def market(self) -> MarketTerm:
        """The term of asked prices and sales for parts."""
        return next(term for term in self.terms if isinstance(term, MarketTerm))

    def rows(self, table: ConditionTable, asked: BoolArray | None = None) -> RawRows:
        """Return the raw rows of units. Sold for parts, a unit's condition does not count.

        Args:
            table: The units.
            asked: shape (rows,), whether a price was only asked; None: no.
        """
        return self.reader(table, asked)(slice(0, table.rows))

    def reader(self, table: ConditionTable, asked: BoolArray | None = None) -> Callable[[slice], RawRows]:
        """Return what gives the raw rows of blocks of units; see ``rows``. Several threads may call it at a time."""
        as_parts = sold_for_parts(table)
        readers = [
            self._term_reader(term, place.hot - self.dense_columns, table, asked)
            for term, place in zip(self.terms, self.places, strict=True)
        ]

        def read(part: slice) -> RawRows:
            """Return some rows, ``part`` from a start to a stop."""
            pieces = [reader(part) for reader in readers]
            dense = np.empty((part.stop - part.start, self.dense_columns), order="F")
            dense[:, 0] = 1.0
            for piece, place in zip(pieces, self.places, strict=True):
                dense[:, place.dense : place.dense + piece.dense.shape[1]] = piece.dense
            places = [piece.places.T for piece in pieces]
            told = np.flatnonzero(as_parts[part])
            if len(told):
                self._without_condition(told, dense, places)
            unseen = [piece.unseen for piece in pieces]
            stacked = np.concatenate(places, dtype=np.int32) if places else np.empty((0, len(dense)), dtype=np.int32)
            return RawRows(dense, stacked.T, self.hot_columns, np.hstack(unseen) if unseen else dense[:, :0])

        return read

    @staticmethod
    def _term_reader(term: Term, hot_at: int, table: ConditionTable, asked: BoolArray | None) -> Reader:
        if isinstance(term, MarketTerm):
            return term.reader(table, asked)
        if isinstance(term, ProductTerm | SlopeTerm):
            return lambda part: term.piece(table.part(part))
        return term.reader(table, hot_at)

    def _without_condition(self, rows: NDArray[np.intp], dense: FloatArray, places: list[PlaceArray]) -> None:
        """Clear the columns of faults, marks, locks and parts in some rows; ``places``: (slots, rows) each."""
        for number, (term, place) in enumerate(zip(self.terms, self.places, strict=True)):
            if isinstance(term, FaultTerm | StateTerm):
                dense[rows, place.dense : place.dense + term.dense_columns] = 0.0
                places[number][:, rows] = NOWHERE

    def chunks(
        self, table: ConditionTable, asked: BoolArray | None = None, size: int = CHUNK_ROWS
    ) -> Iterator[tuple[slice, RawRows]]:
        """Yield the raw rows block by block, so that memory does not grow with the sales."""
        read = self.reader(table, asked)
        for start in range(0, table.rows, size):
            part = slice(start, min(start + size, table.rows))
            yield part, read(part)

    @cached_property
    def bounds(self) -> sparse.csr_array:
        """The rows of ``sign_rows`` as a matrix, shape (bounds, columns)."""
        return constraint_matrix(self.sign_rows(), self.columns)

    def block_table(self) -> BlockTable:
        """Return the blocks of coefficients and the map to raw columns."""
        return self._block_table

    @cached_property
    def _block_table(self) -> BlockTable:
        builder = BlockBuilder(self.columns)
        builder.add_coefficient("constant", UNPENALISED, [0], [1.0])
        for term, place in zip(self.terms, self.places, strict=True):
            term.describe(builder, place.dense, place.hot)
        return builder.build()

    def sign_rows(self) -> list[ConstraintRow]:
        """Return rows c with c'beta >= 0: faults, marks, locks and parts never raise, numbers as stated."""
        rows: list[ConstraintRow] = []
        for term, place in zip(self.terms, self.places, strict=True):
            if isinstance(term, FaultTerm):
                rows += term.sign_rows(place.dense, place.hot)
            elif isinstance(term, StateTerm):
                rows += term.sign_rows(place.hot) + term.order_rows(place.hot)
            elif isinstance(term, NumberTerm) and term.effect != "free":
                rows += _slope_rows(term, place.dense)
        return rows

    def term_columns(self, number: int) -> list[int]:
        """Return the raw columns of one term."""
        term, place = self.terms[number], self.places[number]
        dense = range(place.dense, place.dense + term.dense_columns)
        return [*dense, *range(place.hot, place.hot + term.hot_columns)]


def _slope_rows(term: NumberTerm, dense_at: int) -> list[ConstraintRow]:
    """Return rows that keep the slope's sign wherever the number goes.

    Between two neighbouring points the slope is a parabola. It lies within its three Bernstein coefficients: the
    slopes at both ends, and twice the middle slope less the mean of the ends.
    """
    sign = 1.0 if term.effect == "raises" else -1.0
    ends = term.standardised(np.array([term.low, term.high]))
    points = np.unique(np.concatenate([term.knots, np.linspace(ends[0], ends[1], 41)]))
    slopes = term.slopes(points if len(term.knots) else ends[:1])
    if len(term.knots):
        middle = term.slopes((points[1:] + points[:-1]) / 2)
        slopes = np.vstack([slopes, 2 * middle - (slopes[1:] + slopes[:-1]) / 2])
    return [{dense_at + number: sign * float(value) for number, value in enumerate(row)} for row in slopes]


def learn_design(summary: SalesSummary, device_class: DeviceClass, *, penalties: bool = True) -> Design:
    """Return the design that sales support.

    Args:
        summary: What there is to learn of the sales to be fitted.
        device_class: Attributes, functions, surfaces, locks and parts.
        penalties: False: straight numbers and reference coding only, for comparison with least squares.
    """
    asked = 0 < summary.asked < summary.rows
    terms: list[Term | None] = [MarketTerm(asked=asked, parts=summary.for_parts >= _FEWEST_PARTS_SALES)]
    alike: dict[str, str | None] = {}
    knots = _most_knots(summary)
    for attribute in device_class.attributes:
        term = _attribute_term(attribute, device_class, summary, penalties, knots)
        terms.append(term)
        if term is None:
            alike[attribute.name] = _all_alike(attribute, device_class, summary)
    battery = summary.numbers.get("battery_share")
    if battery is not None:
        terms.append(number_term("battery_share", battery, bends=penalties, most_knots=knots))
    for name in CONTRACT_TEXTS:
        if (name,) in summary.levels:
            counts = summary.levels[(name,)]
            terms.append(level_term_of(name, (name,), counts, reference=not penalties, averaged=True))
    terms += [fault_term(device_class, summary.faults), mark_term(device_class, summary.marks)]
    terms += [lock_term(device_class, summary.locks), part_term(device_class, summary.parts)]
    terms.append(time_term(summary.days))
    return Design(tuple(term for term in terms if term is not None), alike)


def _attribute_term(
    attribute: Attribute, device_class: DeviceClass, summary: SalesSummary, penalties: bool, knots: int
) -> Term | None:
    if attribute.kind == "number":
        column = summary.numbers.get(attribute.name)
        if column is None:
            return None
        log = attribute.scale == "log"
        return number_term(
            attribute.name, column, log=log, effect=attribute.effect, bends=penalties, most_knots=knots
        )
    path = path_of(attribute, device_class)
    return level_term_of(attribute.name, path, summary.levels[path], reference=not penalties)


def _most_knots(summary: SalesSummary) -> int:
    """Return how many knots a number may have: all bends together take at most a third of the sales' count."""
    return int(np.clip(2 + summary.rows // (3 * max(len(summary.numbers), 1)), 3, MOST_KNOTS))


def _all_alike(attribute: Attribute, device_class: DeviceClass, summary: SalesSummary) -> str | None:
    """Return the one value that all sales have, None when they state none."""
    if attribute.kind == "number":
        column = summary.numbers.get(attribute.name)
        return repr(float(column.values[0])) if column is not None and len(column.values) else None
    levels = summary.levels[path_of(attribute, device_class)].levels
    return next((level[-1] for level in levels), None)
