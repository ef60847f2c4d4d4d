"""Learning the time to sell from listings: sold ones, and those that ended or still stand unsold.

An unsold listing says that its wait was longer than it stood (right censoring). Left out, the waits of those that
sold would alone be counted, and all goods would seem to sell sooner than they do.

With z = (ln t - columns b) / spread and d = 1 for a sale, the log-likelihood of Weibull's law is::

    sum of d (z - ln spread - ln t) - e^z

It is maximised over b and ln spread with its exact gradient and Hessian. The ask is the seller's choice: good sellers
may both ask more and sell sooner, and who knows a unit to be better than its description asks more for it and waits
no longer. What is learnt is association, blunted by that, not what a change of the ask would cause.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, stats

from pricing.decisions.waiting_law import WaitingLaw, assumed_law
from pricing.errors import CannotFit
from pricing.records.sales_table import BoolArray, FloatArray
from pricing.records.waiting import WaitingAssumption

FEWEST_SOLD = 30
# A sale on the day of listing is told as 0 days; it took some part of that day.
LEAST_DAYS = 0.5
_MOST_LOG = 50.0
_SLACK = 1e-6
_WORST_CONDITION = 1e12


@dataclass(frozen=True, eq=False)
class Waits:
    """Listings with a known start.

    Attributes:
        days: shape (listings,): until sold, withdrawn, or today.
        sold: shape (listings,): False where the listing was withdrawn or still stands.
        over_log: shape (listings,): ln(ask / estimate), the estimate fitted without that sale.
    """

    days: FloatArray
    sold: BoolArray
    over_log: FloatArray


@dataclass(frozen=True, eq=False)
class WeibullFit:
    """A fitted regression of ln days.

    Attributes:
        effects: b, shape (columns,).
        spread_log: ln of the spread.
        covariance: Of (b, ln spread), the inverse of the observed information; zero for a spread that was given.
        log_likelihood: On the scale of days.
    """

    effects: FloatArray
    spread_log: float
    covariance: FloatArray
    log_likelihood: float


def fit_weibull(
    days: FloatArray,
    sold: BoolArray,
    columns: FloatArray,
    *,
    offset: FloatArray | None = None,
    shape: float | None = None,
) -> WeibullFit:
    """Return the maximum-likelihood fit of Weibull's law.

    Args:
        days: Above 0, shape (listings,).
        sold: False for a censored wait.
        columns: shape (listings, columns), a column of ones among them.
        offset: Added to ln days as known; None: nothing.
        shape: A shape that is given, 1 for the exponential law; None: it is learnt.

    Raises:
        CannotFit: No wait ended in a sale, or the search did not settle.
    """
    if not sold.any():
        raise CannotFit("no listing ended in a sale; the time to sell cannot be learnt")
    wait_log = np.log(days) - (0.0 if offset is None else offset)
    given = None if shape is None else -float(np.log(shape))
    problem = _Likelihood(wait_log, sold, columns, given)
    start = np.zeros(columns.shape[1] + (given is None))
    level = float(np.log(np.exp(wait_log).sum() / sold.sum()))
    start[: columns.shape[1]] = np.linalg.lstsq(columns, np.full(len(days), level), rcond=None)[0]
    best, inverse = _settled(problem, start)
    effects, spread_log = problem.parts(best)
    covariance = np.zeros((columns.shape[1] + 1, columns.shape[1] + 1))
    covariance[: len(best), : len(best)] = inverse
    return WeibullFit(effects, spread_log, covariance, -problem.cost(best) - float(np.log(days[sold]).sum()))


def _settled(problem: _Likelihood, start: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return where the likelihood is highest, and the inverse of the information there.

    Raises:
        CannotFit: The search did not settle, or a direction is not determined.
    """
    found = optimize.minimize(
        problem.cost, start, jac=problem.gradient, hess=problem.hessian, method="trust-exact", options={"gtol": 1e-8}
    )
    information = problem.hessian(found.x)
    slack = np.abs(problem.gradient(found.x)).max()
    if slack > _SLACK * len(problem.wait_log) or np.linalg.cond(information) > _WORST_CONDITION:
        raise CannotFit("the time to sell did not settle: the listings do not tell what the ask does to it")
    return np.asarray(found.x, dtype=np.float64), np.asarray(np.linalg.inv(information), dtype=np.float64)


@dataclass(frozen=True, eq=False)
class _Likelihood:
    """The negative log-likelihood of (b, ln spread) on the scale of ln days; the spread may be given."""

    wait_log: FloatArray
    sold: BoolArray
    columns: FloatArray
    given: float | None

    def parts(self, values: FloatArray) -> tuple[FloatArray, float]:
        """Return b and ln spread."""
        width = self.columns.shape[1]
        return values[:width], float(values[width]) if self.given is None else self.given

    def cost(self, values: FloatArray) -> float:
        """Return the negative log-likelihood."""
        scores, spread_log = self._scores(values)
        return float(np.exp(scores).sum() - (scores[self.sold] - spread_log).sum())

    def gradient(self, values: FloatArray) -> FloatArray:
        """Return its gradient."""
        scores, spread_log = self._scores(values)
        slack: FloatArray = self.sold - np.exp(scores)
        by_effects = self.columns.T @ slack / np.exp(spread_log)
        if self.given is not None:
            return np.asarray(by_effects)
        return np.append(by_effects, self.sold.sum() + scores @ slack)

    def hessian(self, values: FloatArray) -> FloatArray:
        """Return its matrix of second derivatives."""
        scores, spread_log = self._scores(values)
        hazard, spread = np.exp(scores), np.exp(spread_log)
        slack: FloatArray = self.sold - hazard
        width = len(values)
        found: NDArray[np.float64] = np.empty((width, width))
        last = self.columns.shape[1]
        found[:last, :last] = (self.columns.T * hazard) @ self.columns / spread**2
        if self.given is None:
            found[:last, last] = found[last, :last] = self.columns.T @ (scores * hazard - slack) / spread
            found[last, last] = scores**2 @ hazard - scores @ slack
        return found

    def _scores(self, values: FloatArray) -> tuple[FloatArray, float]:
        effects, spread_log = self.parts(values)
        scores = (self.wait_log - self.columns @ effects) * np.exp(-spread_log)
        return np.clip(scores, -np.inf, _MOST_LOG), spread_log


def learn_waiting(waits: Waits, assumption: WaitingAssumption) -> WaitingLaw:
    """Return the law that the listings teach, or, as far as they do not, the one that is assumed.

    With fewer than 30 sales everything is assumed. Where dearer units did not clearly sell later (the 95 percent
    interval of the slope reaches 0), the steepness is assumed and the rest is learnt: with a slope of 0 or less the
    best ask would be without bound.
    """
    if waits.sold.sum() < FEWEST_SOLD:
        return assumed_law(assumption)
    days = np.maximum(waits.days, LEAST_DAYS)
    ones = np.ones(len(days))
    try:
        both = fit_weibull(days, waits.sold, np.column_stack([ones, waits.over_log]))
        reach = float(stats.norm.ppf(0.975) * np.sqrt(both.covariance[1, 1]))
        if both.effects[1] > reach:
            constant, slope = both.effects.tolist()
            return WaitingLaw(constant, slope, float(np.exp(both.spread_log)), both.covariance, "listings")
        known = assumption.steepness * waits.over_log
        level = fit_weibull(days, waits.sold, ones[:, None], offset=known)
    except CannotFit:
        return assumed_law(assumption)
    covariance = np.zeros((3, 3))
    covariance[np.ix_([0, 2], [0, 2])] = level.covariance
    spread = float(np.exp(level.spread_log))
    return WaitingLaw(float(level.effects[0]), assumption.steepness, spread, covariance, "listings, steepness assumed")


@dataclass(frozen=True, eq=False)
class Standing:
    """The share of listings that still stand, by Kaplan and Meier.

    Attributes:
        days: shape (days of sale,), ascending.
        share: The share that stood longer.
        error: Its standard error by Greenwood.
        at_risk: Listings that stood until that day.
    """

    days: FloatArray
    share: FloatArray
    error: FloatArray
    at_risk: FloatArray

    @property
    def median(self) -> float | None:
        """The first day by which half had sold; None: it was not reached."""
        reached = np.flatnonzero(self.share <= 0.5)
        return float(self.days[reached[0]]) if len(reached) else None


def standing(days: FloatArray, sold: BoolArray) -> Standing:
    """Return the share still standing after each day on which something sold.

    Raises:
        CannotFit: Nothing sold.
    """
    if not sold.any():
        raise CannotFit("no listing ended in a sale; no share of sold listings can be given")
    sample = stats.CensoredData(uncensored=days[sold], right=days[~sold])
    function = stats.ecdf(sample).sf
    events = np.isin(function.quantiles, days[sold])
    at_risk = np.array([(days >= day).sum() for day in function.quantiles[events]], dtype=np.float64)
    ended = np.array([(sold & (days == day)).sum() for day in function.quantiles[events]], dtype=np.float64)
    share = function.probabilities[events]
    with np.errstate(divide="ignore", invalid="ignore"):
        error = np.where(share > 0, share * np.sqrt(np.cumsum(ended / (at_risk * (at_risk - ended)))), 0.0)
    return Standing(function.quantiles[events], share, error, at_risk)
