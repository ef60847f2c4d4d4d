"""A number attribute: a straight effect, a bend, and a level for "not stated"."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.interpolate import PPoly

from pricing.hedonic.blocks import LEAST_LAMBDA, UNPENALISED, Block, BlockBuilder
from pricing.hedonic.counts import NumberCounts
from pricing.hedonic.pieces import NOWHERE, Piece, Reader
from pricing.hedonic.splines import MOST_KNOTS, bend_map, cardinal_basis, knots_at_quantiles, natural_spline
from pricing.records.device_class import Effect
from pricing.records.sales_table import ConditionTable, FloatArray


@dataclass(frozen=True, eq=False)
class NumberTerm:
    """Columns: straight (centred and scaled), bends, and one-hot "not stated".

    Attributes:
        name: Attribute.
        log: Whether ln of the number enters.
        centre, spread: Mean and standard deviation of the scaled number in the sales.
        low, high: Smallest and largest number in the sales, in its own unit.
        knots: shape (knots,), in standardised units; empty: no bend.
        bends: shape (knots, knots - 2), from values at knots to bend columns; its column means over the sales
            are taken off through ``bend_centres``.
        bend_centres: shape (knots - 2,).
        blanks: Whether the sales had cells that state nothing.
        effect: raises, lowers or free.
    """

    name: str
    log: bool
    centre: float
    spread: float
    low: float
    high: float
    knots: FloatArray
    bends: FloatArray
    bend_centres: FloatArray
    blanks: bool
    effect: Effect

    @property
    def dense_columns(self) -> int:
        """Number of dense columns."""
        return 1 + int(self.bends.shape[1])

    @property
    def hot_columns(self) -> int:
        """Number of one-hot columns."""
        return int(self.blanks)

    @property
    def unseen_depths(self) -> int:
        """Depths at which a level may be unseen."""
        return 0

    def standardised(self, values: FloatArray) -> FloatArray:
        """Return numbers in standardised units; NaN stays."""
        with np.errstate(invalid="ignore", divide="ignore"):
            scaled = np.log(values) if self.log else values
        return np.asarray((scaled - self.centre) / self.spread, dtype=np.float64)

    @cached_property
    def _bend(self) -> PPoly[np.float64]:
        return natural_spline(self.knots, self.bends, -self.bend_centres)

    def piece(self, table: ConditionTable) -> Piece:
        """Return this term's columns; a number that is not stated sits at the centre, with its own level."""
        return self.reader(table)(slice(0, table.rows))

    def reader(self, table: ConditionTable, hot_at: int = 0) -> Reader:
        """Return what reads blocks of the table's rows; places are counted from ``hot_at``."""
        column = table.numbers.get(self.name)
        values = np.full(table.rows, np.nan) if column is None else column

        def read(part: slice) -> Piece:
            """Return the columns of some rows."""
            blank = ~np.isfinite(values[part])
            straight = np.where(blank, 0.0, self.standardised(np.where(blank, 1.0, values[part])))
            dense = np.empty((len(straight), self.dense_columns), order="F")
            dense[:, 0] = straight
            if len(self.knots):
                dense[:, 1:] = self._bend(straight)
                dense[blank, 1:] = 0.0
            places = np.where(blank, hot_at, NOWHERE).astype(np.int32)[:, None]
            empty = np.empty((len(straight), 0))
            return Piece(dense, places if self.blanks else empty.astype(np.int32), empty)

        return read

    def describe(self, builder: BlockBuilder, dense_at: int, hot_at: int) -> None:
        """Add coefficients: the straight one free, the bends of one variance, "not stated" of its own."""
        builder.add_coefficient(self.name, UNPENALISED, [dense_at], [1.0])
        if self.bends.shape[1]:
            block = builder.add_block(Block(f"{self.name}: bend", least=LEAST_LAMBDA))
            for column in range(self.bends.shape[1]):
                builder.add_coefficient(f"{self.name}: bend", block, [dense_at + 1 + column], [1.0])
        if self.blanks:
            block = builder.add_block(Block(f"{self.name}: not stated", "pooled", 2.0))
            builder.add_coefficient(f"{self.name}: not stated", block, [hot_at], [0.1])

    def slopes(self, points: FloatArray) -> FloatArray:
        """Return the derivative of each dense column at standardised points, shape (points, dense columns)."""
        straight = np.ones((len(points), 1))
        if not len(self.knots):
            return straight
        return np.hstack([straight, cardinal_basis(points, self.knots, derivative=1) @ self.bends])

    def outside(self, table: ConditionTable) -> FloatArray:
        """Return how far each row lies outside the sales' range, in spans of it; 0 inside or not stated."""
        values = table.numbers.get(self.name)
        if values is None:
            return np.zeros(table.rows)
        low, high = (np.log(self.low), np.log(self.high)) if self.log else (self.low, self.high)
        with np.errstate(invalid="ignore", divide="ignore"):
            scaled = np.log(values) if self.log else values
        beyond = np.maximum(np.maximum(low - scaled, scaled - high), 0.0)
        return np.nan_to_num(beyond / max(high - low, 1e-300), nan=0.0, posinf=np.inf)


def number_term(
    name: str,
    column: NumberCounts,
    *,
    log: bool = False,
    effect: Effect = "free",
    bends: bool = True,
    most_knots: int = MOST_KNOTS,
) -> NumberTerm | None:
    """Return the term learnt from the sales, or None when the number never varies.

    Args:
        name: The column.
        column: What the sales state; above 0 on a log scale.
        log: Whether the logarithm enters.
        effect: Direction in which it may move the price.
        bends: False leaves out bends (penalties off).
        most_knots: Largest number of knots.
    """
    if len(column.values) < 2:
        return None
    scaled = np.log(column.values) if log else column.values
    centre, spread = float(column.mean(scaled)), float(np.sqrt(column.variance(scaled)))
    if not spread > 1e-12 * max(abs(centre), 1e-300):
        return None
    standard = column.at((scaled - centre) / spread)
    knots = knots_at_quantiles(standard, most_knots) if bends else np.empty(0)
    mapping, centres = np.empty((0, 0)), np.empty(0)
    if len(knots) >= 3:
        basis = cardinal_basis(standard.values, knots)
        mapping = bend_map(knots)
        # One factor for all bends: the average column then varies as much as the straight one.
        mapping = mapping / max(float(np.sqrt(standard.variance(basis @ mapping).mean())), 1e-12)
        centres = standard.mean(basis @ mapping)
    else:
        knots = np.empty(0)
    return NumberTerm(
        name=name,
        log=log,
        centre=centre,
        spread=spread,
        low=float(column.values[0]),
        high=float(column.values[-1]),
        knots=knots,
        bends=mapping if len(knots) else np.empty((0, 0)),
        bend_centres=centres,
        blanks=bool(column.blanks),
        effect=effect,
    )
