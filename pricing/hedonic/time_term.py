"""Time: a steady drift and a monthly walk round it.

The drift is one free slope; the walk's increments share one variance and are counted from the last sale
backwards, so that beyond the last sale the drift alone goes on. A day beyond adds the walk's variance for each
month, and the drift's own error grows with its column.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pricing.hedonic.blocks import UNPENALISED, Block, BlockBuilder
from pricing.hedonic.counts import DayCounts
from pricing.hedonic.pieces import NOWHERE, Piece, Reader
from pricing.records.sales_table import ConditionTable, DayArray, FloatArray

DAYS_A_YEAR = 365.25
DAYS_A_MONTH = DAYS_A_YEAR / 12
_FEWEST_MONTHS_FOR_A_WALK = 6


@dataclass(frozen=True, eq=False)
class TimeTerm:
    """Columns: drift in years since the last sale, and one-hot months before it.

    Attributes:
        last: Day of the last sale, days since 1970-01-01.
        months: Number of monthly levels; 0: no walk.
        blanks: Whether some sales were not dated.
    """

    last: int
    months: int
    blanks: bool
    name: str = "time"

    @property
    def dense_columns(self) -> int:
        """Number of dense columns."""
        return 1

    @property
    def hot_columns(self) -> int:
        """Number of one-hot columns."""
        return self.months + int(self.blanks)

    @property
    def unseen_depths(self) -> int:
        """Depths at which a level may be unseen: the months beyond the last sale."""
        return 1

    def piece(self, table: ConditionTable) -> Piece:
        """Return the columns for each row's day; a row without a day sits at the last sale."""
        return self.reader(table)(slice(0, table.rows))

    def reader(self, table: ConditionTable, hot_at: int = 0) -> Reader:
        """Return what reads blocks of the table's rows; places are counted from ``hot_at``."""

        def read(part: slice) -> Piece:
            """Return the columns of some rows."""
            days = as_days(None if table.sold_on is None else table.sold_on[part], part.stop - part.start)
            blank = ~np.isfinite(days)
            since = np.where(blank, 0.0, days - self.last)
            places = np.full(len(days), NOWHERE, dtype=np.int32)
            if self.months:
                places[:] = hot_at + np.clip(np.floor(-since / DAYS_A_MONTH), 0, self.months - 1)
            if self.blanks:
                places[blank] = hot_at + self.months
            beyond = np.sqrt(np.maximum(since, 0.0) / DAYS_A_MONTH)
            return Piece((since / DAYS_A_YEAR)[:, None], places[:, None], beyond[:, None])

        return read

    def describe(self, builder: BlockBuilder, dense_at: int, hot_at: int) -> None:
        """Add the drift and the walk's increments, counted backwards from the last month."""
        builder.add_coefficient("drift", UNPENALISED, [dense_at], [1.0])
        if self.months:
            block = builder.add_block(Block("time: walk"))
            for step in range(1, self.months):
                earlier = list(range(hot_at + step, hot_at + self.months))
                builder.add_coefficient("time: walk", block, earlier, [1.0] * len(earlier))
        if self.blanks:
            block = builder.add_block(Block("time: not dated", "pooled", 2.0))
            builder.add_coefficient("time: not dated", block, [hot_at + self.months], [0.1])


def as_days(sold_on: DayArray | None, rows: int) -> FloatArray:
    """Return days since 1970-01-01, shape (rows,), NaN where not dated."""
    if sold_on is None:
        return np.full(rows, np.nan)
    days = sold_on.astype("datetime64[D]")
    return np.where(np.isnat(days), np.nan, days.astype(np.int64).astype(np.float64))


def time_term(days: DayCounts) -> TimeTerm | None:
    """Return the term learnt from the days of sale, or None when they are not dated or all of one day."""
    if days.dated < 3 or days.first == days.last:
        return None
    months = int((days.last - days.first) // DAYS_A_MONTH) + 1
    walk = months if months >= _FEWEST_MONTHS_FOR_A_WALK else 0
    return TimeTerm(last=days.last, months=walk, blanks=bool(days.blanks))
