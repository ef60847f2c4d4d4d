"""What a month beyond the last sale costs in variance, measured on months that were once to come.

A walk fitted inside the sales sees how the whole market moves from month to month. It does not see that single
effects change too: a size of memory falls behind, a kind of maker loses its name. So the last months are priced
again by the effects fitted to the sales before them. For the sales of those months::

    q2 = sum(f_i^2 - r_i^2) / sum(m_i)

with f_i the error of sale i when priced from before, r_i its error when only itself was left out, and m_i the
months between it and the last sale that was known. The same sales stand on both sides, so their own noise cancels.
Variance components stay as they are; a quarter is priced from the sales before it, and so is the quarter before.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pricing.hedonic.gram import RawMoments, sales_moments
from pricing.hedonic.growing import grow
from pricing.hedonic.recipe import Fitted, paid_rows
from pricing.hedonic.solution import solve
from pricing.hedonic.structure import main_columns
from pricing.hedonic.time_term import DAYS_A_MONTH, TimeTerm, as_days
from pricing.records.sales_table import BoolArray, FloatArray

QUARTERS = 2
_MONTHS_AHEAD = 3
_FEWEST_MONTHS_BEFORE = 6
_FEWEST_BEFORE, _FEWEST_AHEAD = 30, 30


def month_variance(fitted: Fitted, *, bounded: bool) -> float:
    """Return q2, on the square of ln(price); 0 where there are too few dated sales to tell.

    Args:
        fitted: The fit; its variance components are kept.
        bounded: Whether effects keep to their direction, as in the fit.
    """
    time = next((term for term in fitted.design.terms if isinstance(term, TimeTerm)), None)
    if time is None or not time.months:
        return 0.0
    age = (time.last - as_days(fitted.sales.condition.sold_on, fitted.sales.rows)) / DAYS_A_MONTH
    quarter = np.where(np.isnan(age), np.inf, np.floor(age / _MONTHS_AHEAD))
    oldest = float(np.nanmax(age))
    error, paid = _left_out(fitted), paid_rows(fitted.sales)
    excess, months, rows = 0.0, 0.0, 0
    before: RawMoments | None = None
    for number in range(QUARTERS, 0, -1):
        if oldest - number * _MONTHS_AHEAD < _FEWEST_MONTHS_BEFORE:
            continue
        known = _moments(fitted, quarter >= number if before is None else quarter == number)
        before = known if before is None or known is None else before.plus(known)
        ahead = np.flatnonzero((quarter == number - 1) & paid)
        if before is None or before.rows < _FEWEST_BEFORE or not len(ahead):
            continue
        later = _errors(fitted, before, np.flatnonzero(quarter >= number), ahead, bounded)
        excess += float(np.sum(later**2 - error[ahead] ** 2))
        months += float(np.sum(np.nanmin(age[quarter >= number]) - age[ahead]))
        rows += len(ahead)
    return max(excess / months, 0.0) if rows >= _FEWEST_AHEAD else 0.0


def _moments(fitted: Fitted, chosen: BoolArray) -> RawMoments | None:
    rows = np.flatnonzero(chosen)
    if not len(rows):
        return None
    return sales_moments(fitted.design, fitted.sales.take(rows), fitted.response[rows], 1 / fitted.shares[rows])


def _left_out(fitted: Fitted) -> FloatArray:
    """Return what is left of each sale by a fit without it, shape (rows,)."""
    if fitted.best is not None:
        return fitted.best.error
    residuals, leverage = fitted.held_out()
    return residuals / (1 - leverage)


def _errors(
    fitted: Fitted, before: RawMoments, known: NDArray[np.intp], ahead: NDArray[np.intp], bounded: bool
) -> FloatArray:
    """Return what is left of the sales ``ahead`` by a fit to the ``known`` ones before them, shape (ahead,)."""
    sales = fitted.sales
    said = np.zeros(sales.rows)
    for number, (design, solution) in enumerate(fitted.members):
        inner = before.within(main_columns(fitted.design, design))
        effects = solve(inner, design, start=solution.variances.lambdas, signs=bounded, hold=True).effects
        mean = np.empty(sales.rows)
        for part, raw in design.chunks(sales.condition, sales.asked):
            mean[part] = raw.times(effects)
        grown = fitted.trees[number] if fitted.trees else None
        if grown is not None:
            columns = grown.inputs.columns(design, sales.condition)
            residuals = fitted.response - mean
            trees = grow(columns[known], grown.inputs, residuals[known], 1 / fitted.shares[known])
            mean += fitted.structure.trees_weights[number] * trees.correction(design, sales.condition)
        said += mean / len(fitted.members)
    return np.asarray((fitted.response - said)[ahead])
