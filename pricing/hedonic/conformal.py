"""From held-out scores to interval quantiles.

score_i = (y_i - prediction without i) / (its standard deviation without i). With n scores the interval at level
1 - alpha runs from the floor((n + 1) alpha / 2)-th to the ceil((n + 1) (1 - alpha / 2))-th smallest score, times
the standard deviation of the unit. Below 2 / alpha - 1 scores those do not exist: Student t, uncalibrated.

With 200 scores and more in each third of the held-out estimates, each third has quantiles of its own, which hold at
its median; between those they are interpolated: errors of cheap and of dear goods are not shaped alike.

Source: Vovk, Gammerman & Shafer, Algorithmic Learning in a Random World (2005); Lei et al. (2018), JASA 113:1094.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

from pricing.records.estimate import LEVELS
from pricing.records.sales_table import FloatArray

MOST_SCORES = 2001
FEWEST_OF_A_CLASS = 200


@dataclass(frozen=True, eq=False)
class Calibration:
    """Quantiles of scores.

    Attributes:
        places: shape (places,), ascending: fitted means (on the log of price, centred) at which quantiles hold.
        low, high: shape (levels, places): multiples of the standard deviation at 50, 80, 90 and 95 percent.
        calibrated: shape (levels,): False where Student t stands in.
        scores: At most 2,001 sorted scores, for averages of money.
        freedom: Degrees of freedom of Student t.
    """

    places: FloatArray
    low: FloatArray
    high: FloatArray
    calibrated: tuple[bool, ...]
    scores: FloatArray
    freedom: float

    def multiples(self, level: int, mean: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the lower and upper multiples at a level for fitted means, shape (rows,) each."""
        number = LEVELS.index(level)
        if len(self.places) == 1:
            return np.full(len(mean), self.low[number, 0]), np.full(len(mean), self.high[number, 0])
        low = np.interp(mean, self.places, self.low[number])
        return low, np.interp(mean, self.places, self.high[number])


def upper_rank(count: int, alpha: float) -> int:
    """Return k = ceil((n + 1)(1 - alpha)), the rank of the conformal quantile; above n it does not exist."""
    # Rounded first: (n + 1)(1 - alpha) is often a whole number that binary fractions miss by a hair.
    return int(np.ceil(round((count + 1) * (1 - alpha), 9)))


def lower_rank(count: int, alpha: float) -> int:
    """Return k = floor((n + 1) alpha), the rank of the lower conformal quantile; 0: it does not exist."""
    return int(np.floor(round((count + 1) * alpha, 9)))


def calibrate(
    scores: FloatArray, freedom: float, use_scores: bool = True, means: FloatArray | None = None
) -> Calibration:
    """Return the quantiles.

    Args:
        scores: shape (n,), of prices paid, in any order.
        freedom: Degrees of freedom where Student t has to stand in.
        use_scores: False: Student t at every level.
        means: shape (n,): held-out means, on the log of price, centred; None: one set of quantiles for all.
    """
    ordered = np.sort(scores)
    low, high, calibrated = _edges(ordered, freedom, use_scores)
    places, lows, highs = np.zeros(1), low[:, None], high[:, None]
    if use_scores and means is not None and len(scores) >= 3 * FEWEST_OF_A_CLASS:
        thirds = np.array_split(np.argsort(means, kind="stable"), 3)
        middles = np.array([float(np.median(means[third])) for third in thirds])
        if (np.diff(middles) > 0).all():
            edges = [_edges(np.sort(scores[third]), freedom, use_scores) for third in thirds]
            places, lows, highs = middles, np.stack([e[0] for e in edges], 1), np.stack([e[1] for e in edges], 1)
    return Calibration(places, lows, highs, calibrated, thinned(ordered), freedom)


def calibrate_groups(groups: Sequence[FloatArray], freedom: float) -> Calibration:
    """Return quantiles of scores in which each group counts the same.

    Args:
        groups: The scores of each group, at least one each; the next one is a draw among such groups.
        freedom: Degrees of freedom where Student t has to stand in.
    """
    scores = np.concatenate(groups)
    weights = np.concatenate([np.full(len(group), 1 / len(group)) for group in groups])
    order = np.argsort(scores, kind="stable")
    ordered, reached = scores[order], np.cumsum(weights[order])
    before = reached - weights[order]
    count = len(groups)
    low, high, calibrated = [], [], []
    for level in LEVELS:
        tail = round(0.5 - level / 200, 6)
        known = lower_rank(count, tail) >= 1
        edge = float(stats.t.ppf(1 - tail, max(freedom, 1.0)))
        # Ranks are those of ``calibrate``, counted in groups: both ends are rounded outwards.
        first = int(np.searchsorted(before, (count + 1) * tail - 1 + 1e-9, side="right")) - 1
        last = int(np.searchsorted(reached, (count + 1) * (1 - tail) - 1e-9))
        low.append(float(ordered[max(first, 0)]) if known else -edge)
        high.append(float(ordered[min(last, len(ordered) - 1)]) if known else edge)
        calibrated.append(known)
    return Calibration(
        np.zeros(1), np.array(low)[:, None], np.array(high)[:, None], tuple(calibrated), thinned(ordered), freedom
    )


def _edges(ordered: FloatArray, freedom: float, use_scores: bool) -> tuple[FloatArray, FloatArray, tuple[bool, ...]]:
    """Return low and high multiples, shape (levels,) each, and whether they come from scores."""
    low, high, calibrated = [], [], []
    for level in LEVELS:
        tail = round(0.5 - level / 200, 6)
        first, last = lower_rank(len(ordered), tail), upper_rank(len(ordered), tail)
        known = use_scores and first >= 1 and last <= len(ordered)
        edge = float(stats.t.ppf(1 - tail, max(freedom, 1.0)))
        low.append(float(ordered[first - 1]) if known else -edge)
        high.append(float(ordered[last - 1]) if known else edge)
        calibrated.append(known)
    return np.array(low), np.array(high), tuple(calibrated)


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
