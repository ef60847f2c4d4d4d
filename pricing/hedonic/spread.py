"""How the error's size depends on the unit.

ln(r_i^2 / (1 - h_i) + 0.05 s2) is regressed on the main effects (straight numbers, choices, outermost groups,
market, whether there is any fault, several faults), shrunken by REML like the prices themselves; a_i is the
exponential of that fit, centred and bounded. For weights and scores, a_i comes from the folds without sale i: a
spread fitted on its own row is what under-covers in small samples.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pricing.hedonic.blocks import Block
from pricing.hedonic.design import Design
from pricing.hedonic.fault_term import FaultTerm
from pricing.hedonic.level_term import LevelTerm
from pricing.hedonic.market_term import MarketTerm
from pricing.hedonic.number_term import NumberTerm
from pricing.hedonic.pieces import DenseRows, RawRows, Remembered
from pricing.hedonic.reml import Moments, fit_variances
from pricing.records.sales_table import FloatArray, IntArray, SalesTable

LEAST_SHARE = 0.05
BOUND_LOG = float(np.log(8.0))


@dataclass(frozen=True, eq=False)
class Spread:
    """The fitted spread.

    Attributes:
        columns: Raw columns that it reads.
        faults: Raw one-hot columns of faults; that any of them is 1 is one more feature, the last.
        coefficients: shape (columns + 1,), on ln of the squared error.
        centre: Mean of the fit over the sales.
    """

    columns: NDArray[np.intp]
    faults: NDArray[np.intp]
    coefficients: FloatArray
    centre: float

    @cached_property
    def _effects(self) -> Remembered[int, FloatArray]:
        """By the number of raw columns: a coefficient for each of them."""
        return Remembered(self._over_columns)

    def _over_columns(self, columns: int) -> FloatArray:
        effects = np.zeros(columns)
        effects[self.columns] = self.coefficients[:-1]
        return effects

    def shares(self, raw: RawRows | DenseRows) -> FloatArray:
        """Return a(x) of each row, shape (rows,): the error's variance over the common one."""
        fit = raw.times(self._effects[raw.columns]) + self.coefficients[-1] * raw.has_any(self.faults)
        return _bounded(fit - self.centre)


def even_spread() -> Spread:
    """Return the spread that is the same for every unit."""
    nothing = np.empty(0, dtype=np.intp)
    return Spread(nothing, nothing, np.zeros(1), 0.0)


def _bounded(fit_log: FloatArray) -> FloatArray:
    return np.asarray(np.exp(np.minimum(np.maximum(fit_log, -BOUND_LOG), BOUND_LOG)), dtype=np.float64)


def _features(raw: RawRows, columns: NDArray[np.intp], faults: NDArray[np.intp]) -> FloatArray:
    """Return the columns that the spread reads and, last, whether a unit has any fault."""
    split = raw.dense.shape[1]
    dense, hot = columns[columns < split], columns[columns >= split] - split
    faulty = np.zeros(len(raw.dense))
    if len(faults):
        faulty = np.minimum(np.asarray(raw.hot[:, faults - split].sum(axis=1)).ravel(), 1.0)
    return np.column_stack([raw.dense[:, dense], raw.hot[:, hot].toarray(), faulty])


def _fault_columns(design: Design) -> NDArray[np.intp]:
    """Return the raw columns of all faults, "not stated" left out."""
    for term, place in zip(design.terms, design.places, strict=True):
        if isinstance(term, FaultTerm):
            places = np.arange(term.hot_columns)
            return np.asarray(place.hot + places[places % term.states.width < len(term.states.states)])
    return np.empty(0, dtype=np.intp)


def _spread_blocks(design: Design) -> tuple[NDArray[np.intp], tuple[Block, ...], IntArray]:
    """Return the raw columns, the blocks and the block of each feature; the constant alone is free."""
    columns, blocks, block_of = [0], [Block("numbers"), Block("faulty")], [-1]
    for term, place in zip(design.terms, design.places, strict=True):
        if isinstance(term, NumberTerm):
            columns.append(place.dense)
            block_of.append(0)
        elif isinstance(term, MarketTerm | FaultTerm):
            blocks.append(Block(term.name))
            columns += range(place.dense, place.dense + term.dense_columns)
            block_of += [len(blocks) - 1] * term.dense_columns
        elif isinstance(term, LevelTerm) and len(term.path) == 1:
            blocks.append(Block(term.name))
            columns += range(place.hot, place.hot + term.hot_columns)
            block_of += [len(blocks) - 1] * term.hot_columns
    order = np.argsort(columns, kind="stable")
    ordered = [*(block_of[number] for number in order), 1]
    used = sorted(set(ordered) - {-1})
    renumbered = {old: new for new, old in enumerate(used)} | {-1: -1}
    numbers = np.array([renumbered[number] for number in ordered], dtype=np.int32)
    return np.array(columns, dtype=np.intp)[order], tuple(blocks[old] for old in used), numbers


@dataclass(frozen=True, eq=False)
class SpreadBasis:
    """What the spread of some sales is regressed on; the same whatever interactions the design has.

    Attributes:
        features: shape (rows, features): straight numbers, choices, market, several faults, and last any fault.
        blocks: Features with a common variance.
        block_of: shape (features,): block of each, -1 for the constant.
        folds: shape (rows,), fold of each sale.
        products: shape (folds, features, features): cross-products of each fold.
    """

    features: FloatArray
    blocks: tuple[Block, ...]
    block_of: IntArray
    folds: NDArray[np.int64]
    products: FloatArray


def spread_basis(design: Design, sales: SalesTable, folds: NDArray[np.int64]) -> SpreadBasis:
    """Return what the spread is regressed on.

    Args:
        design: The columns.
        sales: The rows.
        folds: shape (rows,), fold of each row.
    """
    columns, blocks, block_of = _spread_blocks(design)
    faults = _fault_columns(design)
    features = np.empty((sales.rows, len(columns) + 1))
    for part, raw in design.chunks(sales.condition, sales.asked):
        features[part] = _features(raw, columns, faults)
    chosen = [features[folds == fold] for fold in range(int(folds.max()) + 1)]
    return SpreadBasis(features, blocks, block_of, folds, np.stack([each.T @ each for each in chosen]))


def fit_spread(
    basis: SpreadBasis, design: Design, residuals: FloatArray, leverage: FloatArray
) -> tuple[Spread, FloatArray]:
    """Fit the spread.

    Args:
        basis: Of the same sales.
        design: The columns from which the spread will be read; its main effects are those of the basis.
        residuals: shape (rows,), on the log of price.
        leverage: shape (rows,), h_i; 0 for residuals of held-out sales.

    Returns:
        The spread of all rows, and a_i of each row from the folds without it, shape (rows,).
    """
    squared = residuals**2 / np.maximum(1 - leverage, 0.05)
    target = np.log(squared + LEAST_SHARE * float(np.mean(squared)))
    target -= target.mean()
    features, folds, block_of = basis.features, basis.folds, basis.block_of
    sums = np.stack([
        features[folds == fold].T @ target[folds == fold] for fold in range(len(basis.products))
    ])  # fmt: skip
    xtx, xty = basis.products.sum(axis=0), sums.sum(axis=0)
    fitted = fit_variances(Moments(xtx, xty, float(target @ target), len(target)), basis.blocks, block_of)
    penalty = np.diag(np.where(block_of >= 0, fitted.lambdas[block_of], 0.0))
    centre = float(xtx[0] @ fitted.coefficients) / len(target)
    shares = np.empty(len(target))
    for fold in range(len(basis.products)):
        mine = folds == fold
        without = np.linalg.solve(xtx - basis.products[fold] + penalty, xty - sums[fold])
        shares[mine] = _bounded(features[mine] @ without - centre)
    spread = Spread(_spread_blocks(design)[0], _fault_columns(design), fitted.coefficients, centre)
    return spread, shares
