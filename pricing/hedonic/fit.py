"""The recipe: sales in, a frozen PriceModel out.

What a design learns, and the cross-products behind its effects, are sums over all sales, part by part. Everything
else uses at most 200,000 of them, drawn by rank: the choice of structure, the spread, trees, scores.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from pricing.errors import CannotFit, counted
from pricing.hedonic.beyond import month_variance
from pricing.hedonic.conformal import Calibration, calibrate
from pricing.hedonic.design import Design, learn_design
from pricing.hedonic.gram import RawMoments, block_moments
from pricing.hedonic.interaction_term import SlopeTerm
from pricing.hedonic.level_term import LevelTerm
from pricing.hedonic.model import PriceModel, depth_freedom
from pricing.hedonic.model_file import fingerprinted
from pricing.hedonic.parts import LocalParts, SalesParts
from pricing.hedonic.passes import over_blocks
from pricing.hedonic.pieces import RawRows
from pricing.hedonic.recipe import CORE, LEAST_SQUARES, FitSettings, Fitted, averaged, fit_steps
from pricing.hedonic.scores import held_out_scores, support_calibrations
from pricing.hedonic.solution import Solution, solve
from pricing.hedonic.spread import Spread
from pricing.hedonic.structure import main_columns
from pricing.hedonic.summary import SalesSummary, summarise
from pricing.hedonic.time_term import TimeTerm
from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import FloatArray, SalesTable

__all__ = ["CORE", "FEWEST_ROWS", "LEAST_SQUARES", "MOST_SAMPLE", "FitSettings", "fit_model", "fit_parts"]

FEWEST_ROWS = 8
MOST_SAMPLE = 200_000
_EPOCH = date(1970, 1, 1)


def fit_model(
    sales: SalesTable,
    device_class: DeviceClass,
    *,
    on: date | None = None,
    seed: int = 0,
    settings: FitSettings | None = None,
) -> PriceModel:
    """Fit the price model to sales in memory; see ``fit_parts``.

    Raises:
        CannotFit: Too few sales, or prices that do not differ.
        SingularDesign: Penalties are off and columns say the same thing.
        NotConverged: Passed on.
    """
    return fit_parts(LocalParts(sales), device_class, on=on, seed=seed, settings=settings)


def fit_parts(
    parts: SalesParts,
    device_class: DeviceClass,
    *,
    on: date | None = None,
    seed: int = 0,
    settings: FitSettings | None = None,
) -> PriceModel:
    """Fit the price model.

    Args:
        parts: Prices in one currency, wherever they lie.
        device_class: The class of all of them.
        on: The day the model is of by default; None: the last sale.
        seed: For folds and samples.
        settings: Parts of the recipe to leave out.

    Raises:
        CannotFit: Too few sales, or prices that do not differ.
        SingularDesign: Penalties are off and columns say the same thing.
        NotConverged: Passed on.
    """
    chosen = settings or FitSettings()
    if parts.rows < FEWEST_ROWS:
        raise CannotFit(f"{counted(parts.rows, 'sale')}: too few for a model; at least {FEWEST_ROWS} are needed")
    summary = parts.total(summarise, device_class)
    if summary.prices.greatest <= summary.prices.least * (1 + 1e-9):
        raise CannotFit("all prices are equal, so the sales do not show how far prices differ")
    sample = parts.sample(MOST_SAMPLE, seed)
    centre = float(np.log(sample.price).mean())
    main = learn_design(summary, device_class, penalties=chosen.penalties)
    sampled = fit_steps(sample, np.log(sample.price) - centre, main, device_class, seed, chosen)
    fitted = _with_all(sampled, parts, centre, chosen) if parts.rows > sample.rows else sampled
    return _assemble(_Whole(summary, fitted, sampled, centre, parts.currency), device_class, on, chosen)


@dataclass(frozen=True, eq=False)
class _Whole:
    summary: SalesSummary
    fitted: Fitted
    sampled: Fitted  # before the effects were fitted to all sales: whole groups can be left out of these alone
    centre: float
    currency: str


def _with_all(fitted: Fitted, parts: SalesParts, centre: float, settings: FitSettings) -> Fitted:
    """Fit the effects of what was chosen to all sales, weighted by the fitted spread."""
    raw = parts.total(part_moments, fitted.design, fitted.spread, centre)
    solutions = [
        solve(
            raw.within(main_columns(fitted.design, design)),
            design,
            start=solution.variances.lambdas,
            signs=settings.bounded,
            strict=not settings.penalties,
        )
        for design, solution in fitted.members
    ]
    return replace(fitted, solution=averaged(solutions, [design for design, _ in fitted.members]))


def part_moments(sales: SalesTable, design: Design, spread: Spread, centre: float) -> RawMoments:
    """Return the cross-products of a part of the sales, each weighted by one over its share of the spread.

    Args:
        sales: The part.
        design: The columns.
        spread: The fitted spread.
        centre: Taken off ln(price).

    Raises:
        ValueError: The part is empty.
    """
    response = np.log(sales.price) - centre

    def block(part: slice, raw: RawRows) -> RawMoments:
        """Return the cross-products of some rows."""
        return block_moments(raw, response[part], 1 / spread.shares(raw))

    total: RawMoments | None = None
    for each in over_blocks(block, design, sales.condition, sales.asked):
        total = each if total is None else total.plus(each)
    if total is None:
        raise ValueError("no rows to add up")
    return total


def _assemble(whole: _Whole, device_class: DeviceClass, on: date | None, settings: FitSettings) -> PriceModel:
    fitted, summary = whole.fitted, whole.summary
    solution = fitted.solution
    scores = held_out_scores(fitted, _effect_sigma2(fitted), device_class)
    calibration = calibrate(scores.held.score, solution.freedom, settings.calibration, scores.held.mean)
    by_support = support_calibrations(whole.sampled, scores, device_class) if settings.calibration else {}
    of_asking_price = summary.asked == summary.rows
    model = PriceModel(
        device_class=device_class,
        currency=whole.currency,
        on=on or _last_day(summary),
        last_sale=_last_day(summary),
        design=fitted.design,
        effects=solution.effects,
        free_effects=solution.free_effects,
        inverse=solution.inverse,
        sigma2=scores.sigma2,
        effect_sigma2=scores.effect_sigma2,
        structure=fitted.structure,
        trees=fitted.trees,
        centre=whole.centre,
        shift=float(np.median(scores.held.error)) if settings.calibration else 0.0,
        depth_variance=_depth_variance(fitted, settings),
        depth_freedom=depth_freedom(fitted.design),
        spread=fitted.spread,
        calibration=calibration,
        by_support=by_support,
        held=scores.held.thinned(),
        rows=summary.rows,
        sold_rows=summary.rows if of_asking_price else summary.rows - summary.asked,
        of_asking_price=of_asking_price,
        notices=_notices(whole, calibration),
    )
    return fingerprinted(model)


def _effect_sigma2(fitted: Fitted) -> float:
    """Return s2 from the residuals of the rows; the cross-products would lose digits to cancellation."""
    if fitted.best is not None:
        return fitted.best.members[0].solution.variances.sigma2  # the scale of the averaged covariance
    variances, sales = fitted.solution.variances, fitted.sales
    free = fitted
    if not np.array_equal(fitted.solution.effects, fitted.solution.free_effects):
        free = replace(fitted, solution=replace(fitted.solution, effects=fitted.solution.free_effects))
    residuals, _ = free.held_out()
    penalised = float(np.sum(residuals**2 / fitted.shares)) + variances.penalty
    return max(penalised / (sales.rows - variances.free_columns), 1e-24)


def _depth_variance(fitted: Fitted, settings: FitSettings) -> FloatArray:
    """Return the variance of a level never seen for each depth, shape (depths,), averaged over the members."""
    found = np.zeros(sum(term.unseen_depths for term in fitted.design.terms))
    for design, solution in fitted.members:
        own = _own_depth_variance(design, solution, settings.penalties)
        found[: len(own)] += own / len(fitted.members)
    month = month_variance(fitted, bounded=settings.bounded) if settings.penalties else 0.0
    for term, place in zip(fitted.design.terms, fitted.design.places, strict=True):
        if isinstance(term, TimeTerm):
            found[place.depth] = max(found[place.depth], month)
    return found


def _own_depth_variance(design: Design, solution: Solution, penalties: bool) -> FloatArray:
    names = [block.name for block in design.block_table().blocks]
    found: list[float] = []
    for term in design.terms:
        if isinstance(term, LevelTerm | TimeTerm | SlopeTerm):
            name = "time: walk" if isinstance(term, TimeTerm) else term.name
            known = penalties and name in names
            found.append(solution.variances.block_variance(names.index(name)) if known else 0.0)
    return np.array(found)


def _last_day(summary: SalesSummary) -> date | None:
    return _EPOCH + timedelta(days=summary.days.last) if summary.days.dated else None


def _notices(whole: _Whole, calibration: Calibration) -> tuple[str, ...]:
    notices = []
    fitted = whole.fitted
    alike = fitted.design.alike
    silent = [name for name, value in alike.items() if value is None]
    if silent:
        notices.append(f"left out, because no sale states it: {', '.join(silent)}")
    notices += [f"{name} is left out: all sales have {value}" for name, value in alike.items() if value is not None]
    if fitted.solution.aliased:
        names = ", ".join(fitted.solution.aliased)
        notices.append(f"left out, because other columns already determine them: {names}")
    if not any(isinstance(term, TimeTerm) for term in fitted.design.terms):
        notices.append("no effect of time: the sales are not dated, or all of one day")
    if not all(calibration.calibrated):
        notices.append("too few sales to check every interval against prices held out")
    if whole.summary.asked == whole.summary.rows:
        notices.append("all prices were only asked: every estimate is of an asking price")
    return tuple(notices)
