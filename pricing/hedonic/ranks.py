"""A rank of sales that neither the order of rows nor the names of levels change: by price, then day, then numbers.

Sales that are alike in all of these keep the order in which they come.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pricing.records.sales_table import FloatArray, SalesTable


def rank_keys(sales: SalesTable) -> FloatArray:
    """Return the columns that rank sales, the least important first; shape (columns, rows), 8 bytes each."""
    table = sales.condition
    keys = [table.numbers[name] for name in sorted(table.numbers, reverse=True)]
    if table.sold_on is not None:
        keys.append(table.sold_on.astype("datetime64[D]").astype(np.int64).astype(np.float64))
    return np.array([*keys, sales.price])


def rank_order(keys: FloatArray) -> NDArray[np.intp]:
    """Return the rows from the first in rank to the last, shape (rows,)."""
    return np.lexsort(keys)


def drawn_by_rank(keys: FloatArray, most: int, seed: int) -> NDArray[np.intp]:
    """Return rows in the order of their ranks: all, or ``most`` of them, one from each of as many equal runs of ranks.

    Args:
        keys: shape (columns, rows), as from ``rank_keys``.
        most: At least 1.
        seed: For the draw within each run.
    """
    order = rank_order(keys)
    if len(order) <= most:
        return order
    edges = np.arange(most + 1, dtype=np.int64) * len(order) // most
    return order[np.random.default_rng(seed).integers(edges[:-1], edges[1:])]
