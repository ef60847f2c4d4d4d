"""From held-out scores to interval quantiles.

score_i = (y_i - prediction without i) / (its standard deviation without i). With n scores the interval at level
1 - alpha runs from the floor((n + 1) alpha / 2)-th to the ceil((n + 1) (1 - alpha / 2))-th smallest score, times
the standard deviation of the unit. Below 2 / alpha - 1 scores those do not exist: Student t, uncalibrated.

Source: Vovk, Gammerman & Shafer, Algorithmic Learning in a Random World (2005); Lei et al. (2018), JASA 113:1094.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from pricing.records.estimate import LEVELS
from pricing.records.sales_table import FloatArray

MOST_SCORES = 2001


@dataclass(frozen=True, eq=False)
class Calibration:
    """Quantiles of scores.

    Attributes:
        low, high: shape (levels,): multiples of the standard deviation at 50, 80, 90 and 95 percent.
        calibrated: shape (levels,): False where Student t stands in.
        scores: At most 2,001 sorted scores, for averages of money.
        freedom: Degrees of freedom of Student t.
    """

    low: FloatArray
    high: FloatArray
    calibrated: tuple[bool, ...]
    scores: FloatArray
    freedom: float


def upper_rank(count: int, alpha: float) -> int:
    """Return k = ceil((n + 1)(1 - alpha)), the rank of the conformal quantile; above n it does not exist."""
    # Rounded first: (n + 1)(1 - alpha) is often a whole number that binary fractions miss by a hair.
    return int(np.ceil(round((count + 1) * (1 - alpha), 9)))


def lower_rank(count: int, alpha: float) -> int:
    """Return k = floor((n + 1) alpha), the rank of the lower conformal quantile; 0: it does not exist."""
    return int(np.floor(round((count + 1) * alpha, 9)))


def calibrate(scores: FloatArray, freedom: float, use_scores: bool = True) -> Calibration:
    """Return the quantiles.

    Args:
        scores: shape (n,), of prices paid, in any order.
        freedom: Degrees of freedom where Student t has to stand in.
        use_scores: False: Student t at every level.
    """
    ordered = np.sort(scores)
    low, high, calibrated = [], [], []
    for level in LEVELS:
        tail = round(0.5 - level / 200, 6)
        first, last = lower_rank(len(ordered), tail), upper_rank(len(ordered), tail)
        known = use_scores and first >= 1 and last <= len(ordered)
        edge = float(stats.t.ppf(1 - tail, max(freedom, 1.0)))
        low.append(float(ordered[first - 1]) if known else -edge)
        high.append(float(ordered[last - 1]) if known else edge)
        calibrated.append(known)
    return Calibration(np.array(low), np.array(high), tuple(calibrated), thinned(ordered), freedom)


def thinned(ordered: FloatArray) -> FloatArray:
    """Return at most 2,001 evenly ranked scores of the sorted ones."""
    if len(ordered) <= MOST_SCORES:
        return ordered
    ranks = np.linspace(0, len(ordered) - 1, MOST_SCORES)
    return np.asarray(ordered[np.round(ranks).astype(np.intp)], dtype=np.float64)


def interval_score(low: FloatArray, high: FloatArray, actual: FloatArray, alpha: float) -> FloatArray:
    """Return the interval score of each row, in the units of the interval; smaller is better.

    Source: Gneiting & Raftery (2007), JASA 102:359-378, section 6.2.
    """
    below = np.maximum(low - actual, 0.0)
    above = np.maximum(actual - high, 0.0)
    return np.asarray(high - low + 2 / alpha * (below + above), dtype=np.float64)
