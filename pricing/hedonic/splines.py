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
from scipy.interpolate import CubicSpline

from pricing.records.sales_table import FloatArray

MOST_KNOTS = 10


def knots_at_quantiles(values: FloatArray, most: int = MOST_KNOTS) -> FloatArray:
    """Return at most ``most`` distinct knots at quantiles of the finite values; fewer than 3: no bend.

    Args:
        values: shape (rows,), any unit; NaN is left out.
        most: Largest number of knots.
    """
    finite = values[np.isfinite(values)]
    distinct = np.unique(finite)
    if len(distinct) <= most:
        return distinct
    knots = np.unique(np.quantile(finite, np.linspace(0, 1, most)))
    # Long runs of one value can swallow most quantiles; then the distinct values are spread instead.
    return knots if len(knots) >= most // 2 else np.quantile(distinct, np.linspace(0, 1, most))


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
