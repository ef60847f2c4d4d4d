"""The best of all choices of whole things within limits, found exactly."""

from __future__ import annotations

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from pricing.records.sales_table import BoolArray, FloatArray


def best_selection(worth: FloatArray, use: FloatArray, limit: float) -> BoolArray:
    """Return which things to take, so that their worth is the largest and no use exceeds the limit, shape (things,).

    Args:
        worth: shape (things,), money.
        use: shape (limits, things): what each thing takes of each limit.
        limit: The same for all limits.
    """
    if not len(worth):
        return np.zeros(0, dtype=np.bool_)
    found = milp(
        -worth,
        constraints=LinearConstraint(use, -np.inf, limit),
        bounds=Bounds(0, 1),
        integrality=np.ones(len(worth), dtype=np.int64),
        # The solver's own default would stop within 0.01 % of the best.
        options={"mip_rel_gap": 0.0},
    )
    # Taking nothing is always within the limits, so there is an answer.
    shares = np.zeros(len(worth)) if found.x is None else np.asarray(found.x, dtype=np.float64)
    return np.asarray(np.round(shares) == 1)
