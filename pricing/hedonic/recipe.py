"""The steps of a fit on sales at hand: main effects, spread, choice of structure, trees."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from pricing.hedonic.choice import FEWEST_TO_CHOOSE, Evidence, Judgement, choose, grow_on_all
from pricing.hedonic.design import Design
from pricing.hedonic.folds import fold_count, fold_numbers
from pricing.hedonic.gram import sales_moments
from pricing.hedonic.passes import over_blocks
from pricing.hedonic.pieces import RawRows
from pricing.hedonic.solution import Solution, solve
from pricing.hedonic.spread import Spread, SpreadBasis, even_spread, fit_spread, spread_basis
from pricing.hedonic.structure import MAIN_EFFECTS, Structure, main_columns
from pricing.hedonic.trees import Trees
from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import BoolArray, FloatArray, SalesTable

_ROWS_FOR_SPREAD = 30
_LEAST_LEFT = 1e-6


@dataclass(frozen=True, kw_only=True)
class FitSettings:
    """What the recipe does; all on by default.

    Attributes:
        penalties: Bends, shrinkage and prior beliefs. Off: ordinary least squares in reference coding.
        spread: Error size that depends on the unit.
        calibration: Conformal quantiles. Off: Student t.
        signs: Effects keep to their direction; only with penalties.
        interactions: Products, slopes and pairs where held-out sales ask for them; only with penalties.
        trees: A correction from boosted trees where held-out sales ask for it; only with penalties.
    """

    penalties: bool = True
    spread: bool = True
    calibration: bool = True
    signs: bool = True
    interactions: bool = True
    trees: bool = True

    @property
    def chooses(self) -> bool:
        """Whether there is a structure to be chosen."""
        return self.penalties and (self.interactions or self.trees)

    @property
    def bounded(self) -> bool:
        """Whether effects keep to their direction."""
        return self.penalties and self.signs


LEAST_SQUARES = FitSettings(
    penalties=False, spread=False, calibration=False, signs=False, interactions=False, trees=False
)
CORE = FitSettings(interactions=False, trees=False)


@dataclass(frozen=True, eq=False)
class Fitted:
    """What the steps have made of some sales.

    Attributes:
        sales: At most 200,000, in the order of their ranks.
        response: shape (rows,), ln(price) less its mean.
        design: The columns.
        solution: Effects.
        spread: Error size of any unit.
        shares: shape (rows,): a_i of each sale, from the folds without it.
        structure: Interactions and the trees' weight.
        best: What held-out sales asked for; None: main effects without trees.
        trees: Of each of its members, grown on all of the sales; None: of weight 0.
    """

    sales: SalesTable
    response: FloatArray
    design: Design
    solution: Solution
    spread: Spread
    shares: FloatArray
    structure: Structure = MAIN_EFFECTS
    best: Judgement | None = None
    trees: tuple[Trees | None, ...] = ()

    @property
    def members(self) -> tuple[tuple[Design, Solution], ...]:
        """Columns and effects of each member of the average, main effects first."""
        if self.best is None:
            return ((self.design, self.solution),)
        return tuple((member.design, member.solution) for member in self.best.members)

    def held_out(self) -> tuple[FloatArray, FloatArray]:
        """Return residuals and leverages of the sales; see ``residuals_and_leverage``."""
        return self._held_out

    @cached_property
    def _held_out(self) -> tuple[FloatArray, FloatArray]:
        return residuals_and_leverage(self.design, self.sales, self.response, self.solution, self.shares)


def paid_rows(sales: SalesTable) -> BoolArray:
    """Return the prices that were paid, shape (rows,); all, when all were only asked."""
    return ~sales.asked if not sales.asked.all() else np.ones(sales.rows, dtype=np.bool_)


def fit_steps(
    sales: SalesTable,
    response: FloatArray,
    main: Design,
    device_class: DeviceClass,
    seed: int,
    settings: FitSettings,
) -> Fitted:
    """Fit main effects and spread, and the structure that held-out sales ask for.

    Args:
        sales: In the order of their ranks.
        response: shape (rows,), on the log of price, centred.
        main: The columns of main effects.
        device_class: Of the sales.
        seed: For the folds.
        settings: Parts of the recipe.

    Raises:
        SingularDesign: Penalties are off and columns say the same thing.
        NotConverged: Passed on.
    """
    raw = sales_moments(main, sales, response)
    solution = solve(raw, main, signs=settings.bounded, strict=not settings.penalties)
    fitted = Fitted(sales, response, main, solution, even_spread(), np.ones(sales.rows))
    if sales.rows < _ROWS_FOR_SPREAD or not (settings.spread or settings.chooses):
        return fitted
    folds = fold_numbers(sales, fold_count(sales.rows), seed)
    basis = spread_basis(main, sales, folds)
    if settings.spread:
        fitted = _weighted(fitted, basis, settings)
    if settings.chooses and sales.rows >= FEWEST_TO_CHOOSE:
        evidence = Evidence(sales, device_class, response, fitted.shares, paid_rows(sales), folds, basis,
                            settings.bounded)  # fmt: skip
        return _chosen(fitted, evidence, settings)
    return fitted


def _weighted(fitted: Fitted, basis: SpreadBasis, settings: FitSettings) -> Fitted:
    """Fit the spread to the errors, and everything else again with the weights that follow."""
    residuals, leverage = fitted.held_out()
    spread, shares = fit_spread(basis, fitted.design, residuals, leverage)
    raw = sales_moments(fitted.design, fitted.sales, fitted.response, 1 / shares)
    solution = solve(
        raw,
        fitted.design,
        start=fitted.solution.variances.lambdas,
        signs=settings.bounded,
        strict=not settings.penalties,
    )
    return replace(fitted, solution=solution, spread=spread, shares=shares)


def _chosen(first: Fitted, evidence: Evidence, settings: FitSettings) -> Fitted:
    """Return the fit that held-out sales ask for."""
    best = choose(evidence, first.design, interactions=settings.interactions, trees=settings.trees)
    if best.plain:
        return first
    weights = tuple(member.trees_weight for member in best.members)
    trees = tuple(grow_on_all(evidence, member) if member.trees_weight else None for member in best.members)
    if settings.spread:
        first = replace(first, spread=best.spread, shares=best.share)
    elif len(best.members) > 1:
        first = replace(first, spread=even_spread())
    return replace(
        first,
        design=best.members[-1].design,
        solution=averaged([member.solution for member in best.members], [member.design for member in best.members]),
        structure=Structure(len(best.members) > 1, weights),
        best=best,
        trees=trees,
    )


def averaged(solutions: Sequence[Solution], designs: Sequence[Design]) -> Solution:
    """Return the average of solutions in the columns of the last design, which extends the others.

    Its variance components are those of the last; s2 of the first goes with the averaged covariance.
    """
    if len(solutions) == 1:
        return solutions[0]
    full, sigma2 = designs[-1], solutions[0].variances.sigma2
    effects, free = np.zeros(full.columns), np.zeros(full.columns)
    inverse = np.zeros((full.columns, full.columns))
    for solution, design in zip(solutions, designs, strict=True):
        columns = main_columns(full, design)
        effects[columns] += solution.effects / len(solutions)
        free[columns] += solution.free_effects / len(solutions)
        share = solution.variances.sigma2 / sigma2 / len(solutions)
        inverse[np.ix_(columns, columns)] += share * solution.inverse
    return replace(solutions[-1], effects=effects, free_effects=free, inverse=inverse)


def residuals_and_leverage(
    design: Design, sales: SalesTable, response: FloatArray, solution: Solution, shares: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return residuals of the linear effects and leverages h_i = w_i x_i'V x_i, shape (rows,) each.

    Args:
        design: The columns.
        sales: The rows.
        response: shape (rows,), on the log of price.
        solution: The effects.
        shares: shape (rows,), one over each row's weight.
    """
    residuals, leverage = np.empty(sales.rows), np.empty(sales.rows)

    def fill(part: slice, raw: RawRows) -> None:
        """Fill in some rows."""
        residuals[part] = response[part] - raw.times(solution.effects)
        leverage[part] = raw.quadratic(solution.inverse) / shares[part]

    for _ in over_blocks(fill, design, sales.condition, sales.asked):
        pass
    return residuals, np.clip(leverage, 0.0, 1 - _LEAST_LEFT)
