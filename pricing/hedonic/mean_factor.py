"""The mean of exp(score * deviation) over the scores of the sales, for many deviations.

f(d) = ln mean exp(s d) is the cumulant generating function of the scores. It is smooth, so between the points of a
fixed grid it is taken from the quintic polynomial that has the same value, slope and curvature at both ends. With a
step h and scores that span R, the error is at most h^6 / 46080 times the sixth cumulant of the scores, tilted; that
is below R^6, so h R <= 1/64 leaves less than 1e-15. The grid depends on the scores alone: a unit gets the same number
alone and among others. Only points that are next to a unit's deviation are computed.

The bound is the remainder of Hermite interpolation, f^(6)(x) / 6! (x - a)^3 (b - x)^3, at its largest in the middle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from pricing.hedonic.pieces import Remembered
from pricing.records.sales_table import FloatArray

_STEPS_A_SPAN = 64.0
_POINTS_AT_ONCE = 512


def mean_factor_log(deviation: FloatArray, scores: FloatArray) -> FloatArray:
    """Return ln of the mean of exp(score * deviation), shape (rows,).

    Args:
        deviation: shape (rows,), 0 or above.
        scores: shape (scores,), at least one.
    """
    step = _step_of(scores)
    number = np.floor(deviation / step)
    left = np.unique(number)
    points = np.union1d(left, left + 1)
    value, slope, bend = _cumulants(points * step, scores)
    at_left = np.searchsorted(points, number)
    ends = [np.array([each[at_left], each[at_left + 1]]) for each in (value, slope * step, bend * step**2)]
    return _hermite(deviation / step - number, *ends)


@dataclass(frozen=True, eq=False)
class MeanFactor:
    """The same for one unit after the other: points of the grid are computed once.

    Attributes:
        scores: shape (scores,), at least one.
    """

    scores: FloatArray

    def log_of(self, deviation: float) -> float:
        """Return ln of the mean of exp(score * deviation) for a deviation of 0 or above."""
        number = math.floor(deviation / self._step)
        value, slope, bend = self._ends[number]
        return float(_hermite(np.array(deviation / self._step - number), value, slope, bend))

    @cached_property
    def _step(self) -> float:
        return _step_of(self.scores)

    @cached_property
    def _ends(self) -> Remembered[int, tuple[FloatArray, FloatArray, FloatArray]]:
        """By the number of a point of the grid: what ``_hermite`` takes, of this point and the next."""
        return Remembered(self._new_ends)

    def _new_ends(self, number: int) -> tuple[FloatArray, FloatArray, FloatArray]:
        value, slope, bend = _cumulants(np.array([number, number + 1]) * self._step, self.scores)
        return value, slope * self._step, bend * self._step**2


def _step_of(scores: FloatArray) -> float:
    """Return the grid's step, a power of two: its points are then exact."""
    span = max(float(np.ptp(scores)), 1e-3)
    return float(2.0 ** np.floor(-np.log2(_STEPS_A_SPAN * span)))


def _cumulants(points: FloatArray, scores: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return f, f' and f'' at the points, shape (points,) each."""
    found = np.empty((3, len(points)))
    for start in range(0, len(points), _POINTS_AT_ONCE):
        part = slice(start, start + _POINTS_AT_ONCE)
        exponents = np.multiply.outer(points[part], scores)
        highest = exponents.max(axis=1)
        weights = np.exp(exponents - highest[:, None])
        total = weights.sum(axis=1)
        mean = (weights * scores).sum(axis=1) / total
        spread = (weights * (scores - mean[:, None]) ** 2).sum(axis=1) / total
        found[:, part] = highest + np.log(total / len(scores)), mean, spread
    return found[0], found[1], found[2]


def _hermite(share: FloatArray, value: FloatArray, slope: FloatArray, bend: FloatArray) -> FloatArray:
    """Return the quintic with these values and derivatives at 0 and 1, each of shape (2, rows), at ``share``."""
    rise = value[1] - value[0] - slope[0] - bend[0] / 2
    steeper = slope[1] - slope[0] - bend[0]
    sharper = bend[1] - bend[0]
    cubic = 10 * rise - 4 * steeper + sharper / 2
    quartic = -15 * rise + 7 * steeper - sharper
    quintic = 6 * rise - 3 * steeper + sharper / 2
    inner = bend[0] / 2 + share * (cubic + share * (quartic + share * quintic))
    return np.asarray(value[0] + share * (slope[0] + share * inner), dtype=np.float64)
