"""Fits without a part of the sales: what the model would have said of each sale, had it not seen it.

Cross-products are added up fold by fold, so a fit without one fold costs a solution, not a pass. On few sales the
variance components are fitted anew without the fold; thousands of sales hardly feel a part of them missing, and the
components stay.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pricing.hedonic.design import Design
from pricing.hedonic.gram import RawMoments, sales_moments
from pricing.hedonic.solution import Solution, solve
from pricing.records.sales_table import FloatArray, SalesTable

_ROWS_TO_REFIT = 2_000


@dataclass(frozen=True, eq=False)
class FoldFits:
    """Fits without each fold.

    Attributes:
        folds: shape (rows,): fold of each sale.
        effects: shape (folds, raw columns): beta without each fold.
        mean: shape (rows,): r beta of each sale by the fit without it, on the log of price.
        quadratic: shape (rows,): r'V r of each sale by that fit.
    """

    folds: NDArray[np.int64]
    effects: FloatArray
    mean: FloatArray
    quadratic: FloatArray


def fold_moments(
    design: Design, sales: SalesTable, response: FloatArray, weights: FloatArray, folds: NDArray[np.int64]
) -> list[RawMoments]:
    """Return the cross-products of each fold's sales.

    Args:
        design: The columns.
        sales: All sales.
        response: shape (rows,).
        weights: shape (rows,), above 0.
        folds: shape (rows,), from 0; each fold has a sale at least.
    """
    found = []
    for fold in range(int(folds.max()) + 1):
        mine = np.flatnonzero(folds == fold)
        found.append(sales_moments(design, sales.take(mine), response[mine], weights[mine]))
    return found


def added(parts: Sequence[RawMoments], without: int | None = None) -> RawMoments:
    """Return the sum of the folds' cross-products, all or without one of them."""
    kept = [part for number, part in enumerate(parts) if number != without]
    total = kept[0]
    for part in kept[1:]:
        total = total.plus(part)
    return total


def fit_folds(
    design: Design,
    sales: SalesTable,
    parts: Sequence[RawMoments],
    folds: NDArray[np.int64],
    whole: Solution,
    signs: bool,
) -> FoldFits:
    """Fit without each fold, and price each fold by the fit without it.

    Args:
        design: The columns.
        sales: All sales.
        parts: Cross-products of each fold.
        folds: shape (rows,).
        whole: The fit to all of them: where variance components start, or stay.
        signs: Whether bounds are kept.

    Raises:
        SingularDesign: Passed on.
        NotConverged: Passed on.
    """
    effects = np.empty((len(parts), design.columns))
    mean, quadratic = np.empty(sales.rows), np.empty(sales.rows)
    lambdas = whole.variances.lambdas
    for fold in range(len(parts)):
        found = solve(
            added(parts, fold), design, start=lambdas, signs=signs, hold=sales.rows >= _ROWS_TO_REFIT
        )
        effects[fold] = found.effects
        mine = np.flatnonzero(folds == fold)
        held = sales.take(mine)
        for part, raw in design.chunks(held.condition, held.asked):
            mean[mine[part]] = raw.times(found.effects)
            quadratic[mine[part]] = raw.quadratic(found.inverse)
    return FoldFits(folds, effects, mean, quadratic)
