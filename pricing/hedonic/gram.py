"""Weighted cross-products of the design, added up block by block.

This is the only pass that touches all columns of all sales: R'WR, R'Wy and y'Wy of the raw columns, of which the
one-hot ones stay sparse. Everything after it (variance components, solutions) reads only these sums.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from pricing.hedonic.blocks import BlockTable
from pricing.hedonic.design import Design
from pricing.hedonic.passes import over_blocks
from pricing.hedonic.pieces import RawRows
from pricing.hedonic.reml import Moments
from pricing.records.sales_table import FloatArray, SalesTable

# A one-hot column that more than this share of rows have is cheaper as a dense one (measured).
_FREQUENT = 0.2


@dataclass(frozen=True, eq=False)
class RawMoments:
    """Cross-products of raw columns: shapes (columns, columns), (columns,), (); sums over ``rows`` rows."""

    rtr: FloatArray
    rty: FloatArray
    yty: float
    rows: int
    log_weights: float

    def within(self, columns: NDArray[np.intp]) -> RawMoments:
        """Return the cross-products of some of the columns."""
        return RawMoments(self.rtr[np.ix_(columns, columns)], self.rty[columns], self.yty, self.rows, self.log_weights)

    def plus(self, other: RawMoments) -> RawMoments:
        """Return the sums over both sets of rows."""
        return RawMoments(
            rtr=self.rtr + other.rtr,
            rty=self.rty + other.rty,
            yty=self.yty + other.yty,
            rows=self.rows + other.rows,
            log_weights=self.log_weights + other.log_weights,
        )


def block_moments(raw: RawRows, response: FloatArray, weights: FloatArray) -> RawMoments:
    """Return the cross-products of one block of rows.

    One-hot columns that many rows have are multiplied densely, the others by the pairs of each row.

    Args:
        raw: The rows.
        response: shape (rows,).
        weights: shape (rows,), above 0.
    """
    root = np.sqrt(weights)
    split, columns, by_column = raw.dense.shape[1], raw.columns, raw.hot.tocsc()
    counts = np.diff(by_column.indptr)
    frequent = np.flatnonzero(counts > _FREQUENT * len(response))
    full, thin = np.concatenate([np.arange(split), split + frequent]), split + _others(frequent, len(counts))
    dense = np.zeros((len(response), len(full) + 1))
    dense[:, :split] = raw.dense
    for number, column in enumerate(frequent):
        dense[by_column.indices[by_column.indptr[column] : by_column.indptr[column + 1]], split + number] = 1.0
    dense[:, -1] = response
    dense *= root[:, None]
    hot = _without(by_column, frequent, root)
    products, crossed = dense.T @ dense, hot @ dense
    rtr, rty = np.empty((columns, columns)), np.empty(columns)
    rtr[np.ix_(full, full)] = products[:-1, :-1]
    rtr[np.ix_(thin, full)] = crossed[:, :-1]
    rtr[np.ix_(full, thin)] = crossed[:, :-1].T
    rtr[np.ix_(thin, thin)] = (hot @ hot.T.tocsr()).toarray()
    rty[full], rty[thin] = products[:-1, -1], crossed[:, -1]
    return RawMoments(rtr, rty, float(products[-1, -1]), len(response), float(np.sum(np.log(weights))))


def _others(chosen: NDArray[np.intp], count: int) -> NDArray[np.intp]:
    return np.setdiff1d(np.arange(count), chosen, assume_unique=True)


def _without(by_column: sparse.csc_array, columns: NDArray[np.intp], values: FloatArray) -> sparse.csr_array:
    """Return the other columns as rows, shape (other columns, rows), with each row's value in place of 1."""
    counts = np.diff(by_column.indptr)
    kept = np.ones(len(counts), dtype=np.bool_)
    kept[columns] = False
    rows = by_column.indices[np.repeat(kept, counts)]
    starts = np.concatenate([[0], np.cumsum(counts[kept])])
    return sparse.csr_array((values[rows], rows, starts), shape=(len(starts) - 1, by_column.shape[0]))


def sales_moments(
    design: Design, sales: SalesTable, response: FloatArray, weights: FloatArray | None = None
) -> RawMoments:
    """Return the cross-products of all sales.

    Args:
        design: The columns.
        sales: The rows.
        response: shape (rows,), for prices their centred logarithm.
        weights: shape (rows,); None: all 1.

    Raises:
        ValueError: There are no rows.
    """

    def block(part: slice, raw: RawRows) -> RawMoments:
        """Return the cross-products of some sales."""
        return block_moments(raw, response[part], np.ones(len(response[part])) if weights is None else weights[part])

    total: RawMoments | None = None
    for each in over_blocks(block, design, sales.condition, sales.asked):
        total = each if total is None else total.plus(each)
    if total is None:
        raise ValueError("no rows to add up")
    return total


def coefficient_moments(raw: RawMoments, table: BlockTable) -> Moments:
    """Return the cross-products of the coefficients' columns X = R T for the response y - R beta0."""
    shifted = raw.rty - raw.rtr @ table.offset
    yty = raw.yty - float(table.offset @ (raw.rty + shifted))
    half = table.to_raw.T @ raw.rtr
    xtx = np.asarray(table.to_raw.T @ np.asarray(half).T)
    return Moments(
        xtx=(xtx + xtx.T) / 2,
        xty=np.asarray(table.to_raw.T @ shifted),
        yty=yty,
        rows=raw.rows,
        log_weights=raw.log_weights,
    )
