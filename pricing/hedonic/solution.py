"""One solution of the price model: variance components, raw effects with their covariance, bounds."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from pricing.errors import SingularDesign
from pricing.hedonic.blocks import UNPENALISED, Block, BlockTable
from pricing.hedonic.design import Design
from pricing.hedonic.gram import RawMoments, coefficient_moments
from pricing.hedonic.reml import Moments, Variances, fit_variances
from pricing.hedonic.signs import constrained
from pricing.records.sales_table import FloatArray

_ALIAS = 1e-9


@dataclass(frozen=True, eq=False)
class Solution:
    """Raw effects of one fit.

    Attributes:
        variances: The variance components.
        effects: beta with all bounds kept, shape (raw columns,), on the log of price.
        free_effects: beta without bounds; intervals of effects come from it.
        inverse: shape (raw columns, raw columns): s2 times it is the covariance of ``free_effects``.
        aliased: Names of coefficients left out because others say the same.
        freedom: Rows less effective columns.
    """

    variances: Variances
    effects: FloatArray
    free_effects: FloatArray
    inverse: FloatArray
    aliased: tuple[str, ...]
    freedom: float


def aliased_columns(moments: Moments, table: BlockTable) -> list[int]:
    """Return the unpenalised columns that the ones before them already determine, in order."""
    free = np.flatnonzero(table.block_of == UNPENALISED)
    root = np.sqrt(np.maximum(np.diag(moments.xtx)[free], 1e-300))
    scaled = moments.xtx[np.ix_(free, free)] / np.outer(root, root)
    found: list[int] = []
    kept: list[int] = []
    for number in range(len(free)):
        part = scaled[np.ix_(kept, [number])]
        within = scaled[np.ix_(kept, kept)]
        left = scaled[number, number] - float((part.T @ np.linalg.solve(within, part)).item()) if kept else 1.0
        if left > _ALIAS and moments.xtx[free[number], free[number]] > 0:
            kept.append(number)
        else:
            found.append(int(free[number]))
    return found


def _bounded_blocks(table: BlockTable, rows: int) -> tuple[Block, ...]:
    """Return the blocks, with bounds that few sales draw in: n of them cannot show effects sqrt(n) errors wide."""
    return tuple(replace(each, least=max(each.least, 1 / rows)) if each.least else each for each in table.blocks)


def solve(
    raw: RawMoments,
    design: Design,
    *,
    start: FloatArray | None = None,
    signs: bool = True,
    strict: bool = False,
    hold: bool = False,
) -> Solution:
    """Fit variance components and effects from cross-products.

    Args:
        raw: Cross-products of raw columns.
        design: The columns.
        start: Lambdas to start from.
        signs: Whether bounds are kept.
        strict: Whether a column that others determine is an error; else it is left out and named.
        hold: Whether variance components stay as they are at the start.

    Raises:
        SingularDesign: Columns say the same thing, and ``strict``; or too few rows.
        NotConverged: Passed on.
    """
    table = design.block_table()
    moments = coefficient_moments(raw, table)
    aliased = aliased_columns(moments, table)
    names = tuple(table.names[column] for column in aliased)
    if aliased and strict:
        raise SingularDesign(f"columns that others already determine: {', '.join(names)}")
    kept = np.setdiff1d(np.arange(len(table.names)), aliased)
    reduced = Moments(
        moments.xtx[np.ix_(kept, kept)], moments.xty[kept], moments.yty, moments.rows, moments.log_weights
    )
    variances = fit_variances(reduced, _bounded_blocks(table, raw.rows), table.block_of[kept], start, hold=hold)
    to_raw = table.to_raw[:, kept]
    half = np.asarray(to_raw @ variances.inverse)
    inverse = np.asarray(to_raw @ half.T)
    inverse = (inverse + inverse.T) / 2  # exactly symmetric, because a model file keeps one half only
    lonely = np.flatnonzero(table.lonely_block >= 0)
    own = np.array([variances.block_variance(int(table.lonely_block[column])) for column in lonely])
    inverse[lonely, lonely] += table.lonely_scale[lonely] ** 2 * own / variances.sigma2
    free_effects = table.offset + np.asarray(to_raw @ variances.coefficients)
    effects = free_effects
    if signs:
        rows = design.bounds
        effects = constrained(free_effects, inverse, rows)
    spent = float(np.sum(variances.inverse * reduced.xtx))
    return Solution(variances, effects, free_effects, inverse, names, max(raw.rows - spent, 1.0))
