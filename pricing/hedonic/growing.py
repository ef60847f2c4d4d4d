"""Growing trees on residuals, with scikit-learn's histogram boosting."""

from __future__ import annotations

import numpy as np
from sklearn.ensemble import HistGradientBoostingRegressor

from pricing.hedonic.trees import TreeInputs, Trees
from pricing.records.sales_table import FloatArray

MANY_TREES, FEW_TREES = 200, 100
_ROWS_FOR_FEW = 2_000
_FEWEST_LEAVES, _MOST_LEAVES = 8, 31
_ROWS_A_LEAF = 20
_FEWEST_IN_A_LEAF = 5
_SLOWEST, _FASTEST = 0.1, 0.25
_ROWS_AT_SLOWEST = 800


def learning_rate(rows: int) -> float:
    """Return the share of each tree's step that is kept: few sales are learnt from slowly."""
    return float(np.clip(_SLOWEST * np.sqrt(rows / _ROWS_AT_SLOWEST), _SLOWEST, _FASTEST))


def grow(columns: FloatArray, inputs: TreeInputs, residuals: FloatArray, weights: FloatArray) -> Trees:
    """Grow trees on residuals.

    Args:
        columns: shape (rows, inputs).
        inputs: What the columns are.
        residuals: shape (rows,), on the log of price.
        weights: shape (rows,), above 0.
    """
    boosted = HistGradientBoostingRegressor(
        learning_rate=learning_rate(len(residuals)),
        max_iter=FEW_TREES if len(residuals) >= _ROWS_FOR_FEW else MANY_TREES,
        max_leaf_nodes=int(np.clip(len(residuals) // _ROWS_A_LEAF, _FEWEST_LEAVES, _MOST_LEAVES)),
        min_samples_leaf=_FEWEST_IN_A_LEAF,
        monotonic_cst=inputs.directions,
        early_stopping=False,
        random_state=0,
    ).fit(columns, residuals, sample_weight=weights / weights.mean())
    found = boosted.predict(columns)
    return _as_arrays(boosted, inputs, float(found.min()), float(found.max()))


def _as_arrays(boosted: HistGradientBoostingRegressor, inputs: TreeInputs, low: float, high: float) -> Trees:
    grown = [group[0].nodes for group in boosted._predictors]
    sizes = np.array([len(nodes) for nodes in grown])
    starts = np.concatenate([[0], np.cumsum(sizes)[:-1]]).astype(np.int64)
    nodes = np.concatenate(grown)
    own = np.arange(len(nodes))
    shift = np.repeat(starts, sizes)
    leaf = nodes["is_leaf"].astype(np.bool_)
    return Trees(
        inputs=inputs,
        roots=starts,
        feature=np.where(leaf, 0, nodes["feature_idx"]).astype(np.int64),
        threshold=np.where(leaf, 0.0, nodes["num_threshold"]).astype(np.float64),
        blank_left=nodes["missing_go_to_left"].astype(np.bool_),
        left=np.where(leaf, own, shift + nodes["left"]).astype(np.int64),
        right=np.where(leaf, own, shift + nodes["right"]).astype(np.int64),
        value=np.where(leaf, nodes["value"], 0.0).astype(np.float64),
        base=float(np.ravel(boosted._baseline_prediction)[0]),
        depth=int(nodes["depth"].max()),
        low=low,
        high=high,
    )
