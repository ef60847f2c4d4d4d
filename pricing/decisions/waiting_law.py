"""How long a unit waits for a buyer, given what is asked for it.

With x = ln(ask / estimate), the estimate being that of a sale::

    ln T = constant + slope x + spread W,  P(W > w) = exp(-e^w)
    cumulative hazard  H(t | x) = (t / exp(constant + slope x))^(1 / spread)
    chance of a sale by day t   = 1 - exp(-H(t | x))

This is Weibull's law. The hazard at day t of a unit whose ask changes is that of the ask of that day, so a cut keeps
the age of the listing. Days are numbers, amounts are floats of one currency.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray
from scipy import special, stats

from pricing.records.sales_table import FloatArray
from pricing.records.waiting import WaitingAssumption

Basis = Literal["listings", "listings, steepness assumed", "assumed"]
Figures = float | FloatArray
_MOST_LOG = 50.0


class Waiting(Protocol):
    """What a decision needs to know of the time to sell of one unit."""

    def cumulative(self, asks: Figures, days: Figures) -> FloatArray:
        """Return the hazard summed up to a day after listing, for asks in money; the shapes are broadcast."""
        ...

    def mean_days(self, asks: Figures, patience: float) -> FloatArray:
        """Return the mean days until sold or until ``patience`` is over, which may be infinite."""
        ...


@dataclass(frozen=True, eq=False)
class WaitingLaw:
    """The law of a class of goods.

    Attributes:
        constant: Of ln days.
        slope: Of ln days on ln(ask / estimate): the percent of days for one percent of ask.
        spread: Of ln days; its inverse is Weibull's shape.
        covariance: Of (constant, slope, ln spread), shape (3, 3); zero where nothing was learnt.
        basis: Whether listings taught it, or what was assumed.
    """

    constant: float
    slope: float
    spread: float
    covariance: FloatArray
    basis: Basis

    def for_unit(self, estimate: float) -> UnitWaiting:
        """Return the law for a unit with this estimate in money, above 0."""
        return UnitWaiting(self, estimate)


@dataclass(frozen=True, eq=False)
class UnitWaiting:
    """The law for one unit; see ``Waiting``."""

    law: WaitingLaw
    estimate: float

    def over_log(self, asks: Figures) -> FloatArray:
        """Return ln(ask / estimate)."""
        return np.asarray(np.log(np.asarray(asks, dtype=np.float64) / self.estimate))

    def cumulative(self, asks: Figures, days: Figures) -> FloatArray:
        """Return the hazard summed up to a day."""
        return np.asarray(np.exp(self._cumulative_log(asks, days)))

    def chance(self, asks: Figures, days: Figures) -> FloatArray:
        """Return the chance of a sale by a day."""
        return np.asarray(-np.expm1(-self.cumulative(asks, days)))

    def chance_between(self, asks: Figures, days: Figures, level: float = 0.95) -> tuple[FloatArray, FloatArray]:
        """Return an interval of the chance, from the law's covariance by the delta method on ln H."""
        hazard_log = self._cumulative_log(asks, days)
        ask_part = np.broadcast_to(self.over_log(asks), hazard_log.shape)
        gradient = np.stack([np.ones_like(hazard_log), ask_part, self.law.spread * hazard_log]) / -self.law.spread
        variance = np.einsum("i...,ij,j...->...", gradient, self.law.covariance, gradient)
        reach = stats.norm.ppf(0.5 + level / 2) * np.sqrt(np.maximum(variance, 0.0))
        low, high = (-np.expm1(-np.exp(np.minimum(hazard_log + sign * reach, _MOST_LOG))) for sign in (-1, 1))
        return np.asarray(low), np.asarray(high)

    def mean_days(self, asks: Figures, patience: float) -> FloatArray:
        """Return the mean days until sold or given up: the integral of the chance to stand, in closed form."""
        shape = 1 / self.law.spread
        scale = np.exp(self.law.constant + self.law.slope * self.over_log(asks))
        reached = 1.0 if np.isinf(patience) else special.gammainc(1 / shape, self.cumulative(asks, patience))
        return np.asarray(scale * special.gamma(1 + 1 / shape) * reached)

    def _cumulative_log(self, asks: Figures, days: Figures) -> FloatArray:
        with np.errstate(divide="ignore"):
            days_log = np.log(np.asarray(days, dtype=np.float64))
        centred = days_log - self.law.constant - self.law.slope * self.over_log(asks)
        return np.asarray(np.clip(centred / self.law.spread, -np.inf, _MOST_LOG))


def assumed_law(assumption: WaitingAssumption) -> WaitingLaw:
    """Return the law that the class file states."""
    spread = 1 / assumption.shape
    constant = float(np.log(assumption.median_days) - spread * np.log(np.log(2)))
    nothing: NDArray[np.float64] = np.zeros((3, 3))
    return WaitingLaw(constant, assumption.steepness, spread, nothing, "assumed")
