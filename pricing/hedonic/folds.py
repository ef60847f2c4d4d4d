"""Folds that do not depend on the order of rows or on the names of levels."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pricing.hedonic.ranks import rank_keys, rank_order
from pricing.records.sales_table import SalesTable

MANY_FOLDS, FEW_FOLDS = 10, 5
_ROWS_FOR_FEW = 1_000


def fold_count(rows: int) -> int:
    """Return how many folds so many sales are dealt to: few sales cannot spare a fifth."""
    return FEW_FOLDS if rows >= _ROWS_FOR_FEW else min(MANY_FOLDS, rows)


def fold_numbers(sales: SalesTable, folds: int, seed: int) -> NDArray[np.int64]:
    """Return the fold of each sale, shape (rows,), from 0.

    Sales are ranked by price, then day, then numbers, and neighbours in rank are dealt to different folds at
    random; so each fold has cheap and dear sales, and a permuted file gives each sale the same fold.
    """
    order = rank_order(rank_keys(sales))
    generator = np.random.default_rng(seed)
    hands = -(-sales.rows // folds)
    dealt = np.concatenate([generator.permutation(folds) for _ in range(max(hands, 1))])[: sales.rows]
    numbers = np.empty(sales.rows, dtype=np.int64)
    numbers[order] = dealt
    return numbers
