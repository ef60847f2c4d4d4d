"""Weighted cross-products of the design, added up block by block.

This is the only pass that touches all columns of all sales: R'WR, R'Wy and y'Wy of the raw columns, of which the
one-hot ones stay sparse. Everything after it (variance components, solutions) reads only these sums.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from pricing.hedonic.blocks import BlockTable
from pricing.hedonic.design import Design
from pricing.hedonic.pieces import RawRows
from pricing.hedonic.reml import Moments
from pricing.records.sales_table import FloatArray, SalesTable


@dataclass(frozen=True, eq=False)
class RawMoments:
    """Cross-products of raw columns: shapes (columns, columns), (columns,), (); sums over ``rows`` rows."""

    rtr: FloatArray
    rty: FloatArray
    yty: float
    rows: int
    log_weights: float

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

    Args:
        raw: The rows.
        response: shape (rows,).
        weights: shape (rows,), above 0.
    """
    root = np.sqrt(weights)
    dense = raw.dense * root[:, None]
    hot = sparse.csr_array(raw.hot.multiply(root[:, None]))
    weighted = response * root
    split, columns = raw.dense.shape[1], raw.columns
    rtr = np.empty((columns, columns))
    rtr[:split, :split] = dense.T @ dense
    rtr[split:, :split] = hot.T @ dense
    rtr[:split, split:] = rtr[split:, :split].T
    rtr[split:, split:] = (hot.T @ hot).toarray()
    rty = np.concatenate([dense.T @ weighted, np.asarray(hot.T @ weighted)])
    return RawMoments(rtr, rty, float(weighted @ weighted), len(response), float(np.sum(np.log(weights))))


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
    total: RawMoments | None = None
    for part, raw in design.chunks(sales.condition, sales.asked):
        block_weights = np.ones(len(response[part])) if weights is None else weights[part]
        block = block_moments(raw, response[part], block_weights)
        total = block if total is None else total.plus(block)
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
