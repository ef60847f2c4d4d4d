"""The frozen price model: what fitting returns, and how it predicts one unit or many.

All numbers are on the log of price unless a name says money. For a unit with raw row r::

    mean      m  = centre + r beta + the weighted correction of the trees, if there are any
    variance  v  = s2 a(r) + t2 r' V r + the variances of levels never seen and of months beyond the last sale
    interval     = exp(m + q sqrt(v)), q from ``conformal``
    estimate     = exp(m + shift), shift the one constant that makes it the median
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from pricing.hedonic.conformal import Calibration
from pricing.hedonic.design import Design, Term
from pricing.hedonic.held import HeldOut
from pricing.hedonic.interaction_term import SlopeTerm
from pricing.hedonic.level_term import FEW_LEVELS, LevelTerm
from pricing.hedonic.mean_factor import MeanFactor, mean_factor_log
from pricing.hedonic.one_row import BySpecification, RowReader, columns_read
from pricing.hedonic.pieces import DenseRows, RawRows, Strip
from pricing.hedonic.reading import read_units
from pricing.hedonic.spread import Spread
from pricing.hedonic.structure import Structure
from pricing.hedonic.time_term import TimeTerm
from pricing.hedonic.trees import Trees, averaged_correction
from pricing.records.device_class import DeviceClass
from pricing.records.estimate import LEVELS, Support
from pricing.records.sales_table import BoolArray, ConditionTable, FloatArray
from pricing.records.unit_columns import UnitCells

MODEL_VERSION = 2
SUPPORTS: tuple[Support, ...] = ("unseen", "thin", "seen")
THIN = 4
_MOST_LOG = 700.0


@dataclass(frozen=True, eq=False)
class Said:
    """What the model says of some units, on the log of price.

    Attributes:
        mean: shape (rows,).
        own: shape (rows,): variance of the unit's own error and of the fitted effects.
        unseen: shape (rows, depths): variance that levels never seen add.
        support: shape (rows,): place in ``SUPPORTS``.
    """

    mean: FloatArray
    own: FloatArray
    unseen: FloatArray
    support: NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Prediction(Said):
    """What the model says of a table of units, on the log of price.

    Attributes:
        read: The units as read: with gates told as failing, or as parts, where that is worth more.
    """

    read: ConditionTable


@dataclass(frozen=True, eq=False)
class PriceModel:
    """A fitted price model.

    Attributes:
        device_class: The class itself, so that a model file needs no other.
        currency: Of all money; "" when the sales named none.
        on: Day that units are priced for by default; None when sales were not dated.
        last_sale: Day of the last sale; None when sales were not dated.
        design: The columns.
        effects, free_effects: beta with and without bounds, shape (raw columns,).
        inverse: V, shape (raw columns, raw columns).
        sigma2: s2, the variance of an error of common size.
        effect_sigma2: t2: t2 V is the covariance of the effects. Without trees it is s2.
        structure: Interactions and the trees' weights, as held-out sales asked for them.
        trees: The correction of each member of the average; None: its weight is 0.
        centre: Mean of ln(price) over the sales.
        shift: Added to the mean for the median.
        depth_variance: shape (depths,): variance of a level never seen (of a month, for time).
        depth_freedom: shape (depths,): levels less 1 for Student t; infinite for many levels.
        spread: The fitted spread.
        calibration: Interval quantiles of all sales together.
        by_support: Those of a class of support (seen, thin, unseen) that has enough scores of its own.
        held: Sales held out of the fit, at most 2,001.
        rows, sold_rows: Sales fitted, and those of them that were paid.
        of_asking_price: Whether all prices were only asked.
        notices: What the user should know, in plain words.
        fingerprint: SHA-256 over the model's own numbers, first 16 hex digits.
    """

    device_class: DeviceClass
    currency: str
    on: date | None
    last_sale: date | None
    design: Design
    effects: FloatArray
    free_effects: FloatArray
    inverse: FloatArray
    sigma2: float
    effect_sigma2: float
    structure: Structure
    trees: tuple[Trees | None, ...]
    centre: float
    shift: float
    depth_variance: FloatArray
    depth_freedom: FloatArray
    spread: Spread
    calibration: Calibration
    by_support: Mapping[str, Calibration]
    held: HeldOut
    rows: int
    sold_rows: int
    of_asking_price: bool
    notices: tuple[str, ...]
    fingerprint: str = ""

    def day_for(self, on: date | None) -> date | None:
        """Return the day that a unit is priced for (default: the last sale); None where sales were not dated."""
        return None if self.last_sale is None else on or self.on

    def dated(self, table: ConditionTable, on: date | None) -> ConditionTable:
        """Return the table with ``on`` for every row without a day of its own (default: the last sale)."""
        day = self.day_for(on)
        if day is None:
            return replace(table, sold_on=None)
        if table.sold_on is not None and not np.isnat(table.sold_on).any():
            return table
        filled = np.full(table.rows, np.datetime64(day, "D"))
        if table.sold_on is not None:
            own = table.sold_on.astype("datetime64[D]")
            filled = np.where(np.isnat(own), filled, own)
        return replace(table, sold_on=filled)

    def predict(self, table: ConditionTable) -> Prediction:
        """Return mean and variance of ln(price) of dated units, in chunks of bounded memory."""
        found = read_units(self.design, self.effects, self._own_variance, table)
        unseen = found.unseen**2 * self.depth_variance
        mean = self.centre + found.mean + self.correction(table)
        return Prediction(mean, np.maximum(found.own, 0.0), unseen, self.support(table), found.table(table))

    @cached_property
    def row_reader(self) -> RowReader:
        """What reads units one by one."""
        return RowReader(self.design, self.effects, self._own_variance)

    def predict_one(self, cells: UnitCells, day: date | None, strips: Sequence[tuple[Term, Strip]]) -> Said:
        """Return mean and variance of ln(price) of one unit: the same as ``predict``, to rounding.

        Args:
            cells: The unit.
            day: The day it is for; see ``day_for``.
            strips: From ``row_reader``, for that day.
        """
        found = self.row_reader.read(cells, strips)
        mean = self.centre + found.mean + self._corrections.of(cells, day)
        fewest = self._fewest_of(strips)
        unseen = found.unseen**2 * self.depth_variance
        support = support_of(np.array([fewest]))
        return Said(np.array([mean]), np.array([max(found.own, 0.0)]), unseen[None, :], support)

    def _fewest_of(self, strips: Sequence[tuple[Term, Strip]]) -> float:
        names = self.device_class.attributes_by_name
        return min((s.sales for term, s in strips if s.sales is not None and term.name in names), default=np.inf)

    @cached_property
    def _corrections(self) -> BySpecification[float]:
        """What the trees add to the log of one unit's price."""
        seen = [columns_read(term) for term in self.design.terms] if any(self.trees) else []
        numbers = dict.fromkeys(name for each in seen for name in each[0])
        texts = dict.fromkeys(name for each in seen for name in each[1])
        return BySpecification(tuple(numbers), tuple(texts), False, self._correction_of_one)

    def _correction_of_one(self, table: ConditionTable) -> float:
        return float(self.correction(table)[0])

    def _own_variance(self, raw: RawRows | DenseRows) -> FloatArray:
        return self.sigma2 * self.spread.shares(raw) + self.effect_sigma2 * raw.quadratic(self.inverse)

    def correction(self, table: ConditionTable) -> FloatArray:
        """Return what the trees add to the log of price with their weight, shape (rows,)."""
        return averaged_correction(self.trees, self.structure.trees_weights, self.design, table)

    def deviation(self, prediction: Said, level: int | None = None) -> FloatArray:
        """Return the standard deviation of each row at an interval's level; None: as it is.

        A level never seen of a factor with few levels has Student t instead of normal tails.
        """
        if not len(self.depth_variance):
            return np.asarray(np.sqrt(prediction.own))
        tails = np.ones(len(self.depth_variance)) if level is None else self._tails[level]
        return np.asarray(np.sqrt(prediction.own + prediction.unseen @ tails))

    @cached_property
    def _tails(self) -> Mapping[int, FloatArray]:
        """For each interval's level: variance of each depth's tails over that of normal ones, shape (depths,)."""
        upper = {level: 0.5 + level / 200 for level in LEVELS}
        return {
            level: np.asarray(stats.t.ppf(tail, self.depth_freedom) / stats.norm.ppf(tail)) ** 2
            for level, tail in upper.items()
        }

    def interval(self, prediction: Said, level: int) -> tuple[FloatArray, FloatArray]:
        """Return low and high prices in money, shape (rows,) each, at one of the levels 50, 80, 90, 95."""
        low, high = self.interval_log(prediction, level)
        return money(low), money(high)

    def interval_log(self, prediction: Said, level: int) -> tuple[FloatArray, FloatArray]:
        """Return ln of the low and of the high prices; see ``interval``."""
        deviation = self.deviation(prediction, level)
        low, high = self.multiples(level, prediction.mean - self.centre, prediction.support)
        return prediction.mean + low * deviation, prediction.mean + high * deviation

    def multiples(self, level: int, mean: FloatArray, support: NDArray[np.intp]) -> tuple[FloatArray, FloatArray]:
        """Return how many standard deviations each interval reaches down and up, shape (rows,) each.

        Args:
            level: 50, 80, 90 or 95.
            mean: shape (rows,), on the log of price, less the centre.
            support: shape (rows,), places in ``SUPPORTS``.
        """
        if len(support) == 1:
            return self.by_support.get(SUPPORTS[support[0]], self.calibration).multiples(level, mean)
        low, high = self.calibration.multiples(level, mean)
        for word, calibration in self.by_support.items():
            mine = np.flatnonzero(support == SUPPORTS.index(word))
            low[mine], high[mine] = calibration.multiples(level, mean[mine])
        return low, high

    def estimate(self, prediction: Said) -> FloatArray:
        """Return the median price in money, shape (rows,)."""
        return money(prediction.mean + self.shift)

    def expected(self, prediction: Said) -> FloatArray:
        """Return the mean price in money, shape (rows,): exp(m) times the mean of exp(score sd)."""
        return money(self.expected_log(prediction))

    def expected_log(self, prediction: Said) -> FloatArray:
        """Return ln of the mean price, shape (rows,)."""
        deviation = self.deviation(prediction)
        scores = self.calibration.scores
        if len(scores) < 2:
            return np.asarray(prediction.mean + deviation**2 / 2)
        if len(deviation) == 1:
            return np.asarray(prediction.mean + self._mean_factor.log_of(float(deviation[0])))
        return np.asarray(prediction.mean + mean_factor_log(deviation, scores))

    @cached_property
    def _mean_factor(self) -> MeanFactor:
        return MeanFactor(self.calibration.scores)

    def support(self, table: ConditionTable) -> NDArray[np.intp]:
        """Return how much each unit leans on sales of the same groups: place in ``SUPPORTS``, shape (rows,)."""
        return support_of(self.fewest_sales(table)[0])

    def fewest_sales(self, table: ConditionTable) -> tuple[FloatArray, BoolArray]:
        """Return the fewest sales of any level a row belongs to, and whether attributes have levels at all."""
        names = set(self.device_class.attributes_by_name)
        fewest = np.full(table.rows, np.inf)
        for term in self.design.terms:
            if isinstance(term, LevelTerm) and term.name in names:
                fewest = np.minimum(fewest, term.sales_of(table))
        return fewest, np.isinf(fewest)


def support_of(fewest: FloatArray) -> NDArray[np.intp]:
    """Return the place in ``SUPPORTS`` for the fewest sales of any level, shape (rows,)."""
    return (fewest > 0).astype(np.intp) + (fewest > THIN)


def money(price_log: FloatArray) -> FloatArray:
    """Return exp of a log price, kept finite."""
    return np.asarray(np.exp(np.minimum(np.maximum(price_log, -_MOST_LOG), _MOST_LOG)), dtype=np.float64)


def depth_freedom(design: Design) -> FloatArray:
    """Return the degrees of freedom of each depth's variance, shape (depths,)."""
    freedom: list[float] = []
    for term in design.terms:
        if isinstance(term, LevelTerm):
            few = len(term.levels) < FEW_LEVELS
            freedom.append(float(max(len(term.levels) - 1, 1)) if few else np.inf)
        elif isinstance(term, SlopeTerm):
            few = len(term.levels.levels) < FEW_LEVELS
            freedom.append(float(max(len(term.levels.levels) - 1, 1)) if few else np.inf)
        elif isinstance(term, TimeTerm):
            freedom.append(np.inf)
    return np.array(freedom)
