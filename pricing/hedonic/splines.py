"""Natural cubic splines without their straight part: the bend that a number adds to its linear effect.

A natural cubic spline with knots k_1..k_K is the smoothest curve through its values at the knots; beyond the
outer knots it goes on straight. Its roughness is the integral of the squared second derivative, a quadratic
form of rank K - 2 in those values. Rotating and scaling the values so that the form becomes the identity
leaves K - 2 columns whose coefficients share one variance, and drops the constant and the straight line.

Source: Wood, Generalized Additive Models (2nd ed. 2017), sections 5.3.1 and 5.4.2 (from memory).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline, PPoly

from pricing.hedonic.counts import NumberCounts
from pricing.records.sales_table import FloatArray

MOST_KNOTS = 10


def knots_at_quantiles(column: NumberCounts, most: int = MOST_KNOTS) -> FloatArray:
    """Return at most ``most`` distinct knots at quantiles of the numbers; fewer than 3: no bend.

    Args:
        column: Numbers in any unit.
        most: Largest number of knots.
    """
    if len(column.values) <= most:
        return column.values
    knots = np.unique(column.quantiles(np.linspace(0, 1, most)))
    # Long runs of one value can swallow most quantiles; then the distinct values are spread instead.
    return knots if len(knots) >= most // 2 else np.quantile(column.values, np.linspace(0, 1, most))


@lru_cache(maxsize=256)
def _cardinal(knots: tuple[float, ...]) -> CubicSpline[np.float64]:
    return CubicSpline(np.array(knots), np.eye(len(knots)), bc_type="natural")


def cardinal_basis(values: FloatArray, knots: FloatArray, derivative: int = 0) -> FloatArray:
    """Return the natural spline that is 1 at one knot and 0 at the others, for each knot.

    Args:
        values: shape (rows,), finite.
        knots: shape (knots,), increasing, at least 3.
        derivative: 0 or 1.

    Returns:
        shape (rows, knots); straight beyond the outer knots.
    """
    spline = _cardinal(tuple(knots.tolist()))
    inside = np.clip(values, knots[0], knots[-1])
    slope = np.asarray(spline(inside, 1), dtype=np.float64)
    if derivative == 1:
        return slope
    level = np.asarray(spline(inside), dtype=np.float64)
    return level + slope * (values - inside)[:, None]


def natural_spline(knots: FloatArray, values: FloatArray, raised: FloatArray) -> PPoly[np.float64]:
    """Return natural splines by their values at the knots, quick to evaluate at many points.

    Args:
        knots: shape (knots,), increasing, at least 3.
        values: shape (knots, splines).
        raised: shape (splines,), added to each spline.

    Returns:
        From points of shape (rows,) to shape (rows, splines); straight beyond the outer knots.
    """
    cubic = _cardinal(tuple(knots.tolist()))
    inner = np.tensordot(cubic.c, values, axes=1)
    inner[3] += raised
    outer = np.zeros((4, 2, values.shape[1]))
    slopes = np.asarray(cubic(knots[[0, -1]], 1), dtype=np.float64) @ values
    outer[2] = slopes
    # One straight piece on each side, which goes on without end.
    outer[3] = values[[0, -1]] + raised - np.array([[1.0], [0.0]]) * slopes
    pieces = np.concatenate([outer[:, :1], inner, outer[:, 1:]], axis=1)
    breaks = np.concatenate([[knots[0] - 1.0], knots, [knots[-1] + 1.0]])
    return PPoly(pieces, breaks, extrapolate=True)


def bend_map(knots: FloatArray) -> FloatArray:
    """Return the map from values at the knots to bend columns with the identity as roughness.

    Args:
        knots: shape (knots,), increasing, at least 3.

    Returns:
        shape (knots, knots - 2).
    """
    curvature = np.asarray(_cardinal(tuple(knots.tolist()))(knots, 2), dtype=np.float64)
    gaps = np.diff(knots)
    mass = np.zeros((len(knots), len(knots)))
    for left, gap in enumerate(gaps):
        mass[left : left + 2, left : left + 2] += gap * np.array([[2.0, 1.0], [1.0, 2.0]]) / 6
    roughness: NDArray[np.float64] = curvature.T @ mass @ curvature
    sizes, directions = np.linalg.eigh((roughness + roughness.T) / 2)
    kept = slice(2, None)  # eigh sorts upwards: the constant and the straight line come first, with size 0
    return np.asarray(directions[:, kept] / np.sqrt(sizes[kept]), dtype=np.float64)
