"""Effects that may only lower, or only raise, the price.

The constrained solution minimises (beta - beta_hat)' V^-1 (beta - beta_hat) subject to C beta >= 0. Its dual is a
non-negative least squares problem in the multipliers of the broken rows; rows are added while any is broken
(an active set: few of the hundreds of rows ever bind).

Source: Lawson & Hanson, Solving Least Squares Problems (1974), ch. 23 (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy import sparse
from scipy.optimize import nnls

from pricing.errors import NotConverged
from pricing.hedonic.state_term import ConstraintRow
from pricing.records.sales_table import FloatArray

_ROUNDS = 100
_SLACK = 1e-12


def constraint_matrix(rows: Sequence[ConstraintRow], columns: int) -> sparse.csr_array:
    """Return the rows as a sparse matrix of shape (rows, columns)."""
    places = [(number, column, value) for number, row in enumerate(rows) for column, value in row.items()]
    if not places:
        return sparse.csr_array((0, columns))
    numbers, where, values = zip(*places, strict=True)
    return sparse.csr_array((values, (numbers, where)), shape=(len(rows), columns))


def constrained(estimate: FloatArray, covariance: FloatArray, rows: sparse.csr_array) -> FloatArray:
    """Return the constrained solution nearest to the estimate, in the metric of its covariance.

    Args:
        estimate: shape (columns,).
        covariance: shape (columns, columns), any scale.
        rows: shape (constraints, columns).

    Raises:
        NotConverged: The broken rows did not settle.
    """
    if rows.shape[0] == 0:
        return estimate
    solution = estimate
    active = np.zeros(rows.shape[0], dtype=np.bool_)
    for _ in range(_ROUNDS):
        broken = rows @ solution < -_SLACK
        if not (broken & ~active).any():
            return _pushed_inside(solution, rows)
        active |= broken
        chosen = rows[np.flatnonzero(active)]
        spread = np.asarray(chosen @ covariance)
        metric = np.asarray(chosen @ spread.T)
        solution = estimate + spread.T @ dual_multipliers(np.asarray(chosen @ estimate), metric)
    raise NotConverged("the bounds of effects did not settle")


def dual_multipliers(values: FloatArray, metric: FloatArray) -> FloatArray:
    """Return the multipliers u >= 0 that put an estimate on the bounds that it breaks, shape (constraints,).

    Args:
        values: C beta_hat, shape (constraints,).
        metric: C V C', shape (constraints, constraints), any scale.

    Raises:
        NotConverged: They did not settle.
    """
    size = float(np.trace(metric)) / len(metric)
    sizes, directions = np.linalg.eigh((metric + metric.T) / 2)
    root = np.sqrt(np.maximum(sizes, 1e-14 * max(size, 1e-300)))
    # min over u >= 0 of |F u + F^-T c|^2 / 2 with F'F = metric and c = C beta_hat is the dual problem.
    factor = root[:, None] * directions.T
    target = -(directions.T @ values) / root
    try:
        multipliers, _ = nnls(factor, target, maxiter=50 * len(metric))
    except RuntimeError as error:
        raise NotConverged("the bounds of effects did not settle") from error
    return np.asarray(multipliers)


def _pushed_inside(solution: FloatArray, rows: sparse.csr_array) -> FloatArray:
    """Put single-column rows exactly on their bound, so that rounding never leaves a fault above 0."""
    single = np.flatnonzero(np.diff(rows.indptr) == 1)
    columns, signs = rows.indices[rows.indptr[single]], np.sign(rows.data[rows.indptr[single]])
    pushed = solution.copy()
    wrong = signs * pushed[columns] < 0
    pushed[columns[wrong]] = 0.0
    return pushed
