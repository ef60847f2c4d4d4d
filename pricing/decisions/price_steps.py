"""Asks that come down when nobody comes: the best one for each stretch of days, found from the last day backwards.

Let V(j) be what the unit is expected to leave when it still stands at the start of stretch j, of length d. With H the
cumulative hazard at an ask and e the chance to stand through the stretch, exp(-(H at its end - H at its start))::

    V(j) = max over asks of  N(ask) (1 - e) + V(j + 1) e - c (mean days stood within the stretch),   V(last) = fallback

For hazard a exp(-alpha p), net = price and many short stretches this comes to the closed form of Gallego and van Ryzin
(1994) for one unit. Several units alike are the same recursion with the value of one unit less after a sale
(``stock_values``).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp

from pricing.decisions.asking import Offering
from pricing.errors import BadInput, Problem
from pricing.records.asking import PriceStep
from pricing.records.money import minor_unit, money_from_float
from pricing.records.sales_table import FloatArray

MOST_STEPS = 365
_GRID = 129
_ROUNDS = 4
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)
_LOWEST, _HIGHEST = 0.25, 4.0


@dataclass(frozen=True, eq=False)
class Steps:
    """The best ask of each stretch.

    Attributes:
        starts: Day on which each begins, shape (stretches,).
        asks: shape (stretches,), in whole minor units.
        values: V, shape (stretches + 1,).
        reached: Chance that the unit still stands at each start.
    """

    starts: FloatArray
    asks: FloatArray
    values: FloatArray
    reached: FloatArray


def best_steps(offering: Offering, about: float, every: float) -> Steps:
    """Return the best asks when the ask may change every so many days, until patience is over.

    Args:
        offering: The unit; its patience is finite.
        about: The asks lie between a quarter and four times this amount.
        every: Days between changes; the last stretch may be shorter.

    Raises:
        BadInput: There would be more than 365 changes, or patience has no end.
    """
    if not np.isfinite(offering.patience) or not every > 0 or offering.patience / every > MOST_STEPS:
        found = f"every {every:g} days for {offering.patience:g} days"
        raise _refused("every", found, f"steps for a patience that ends, at most {MOST_STEPS} of them")
    starts = np.arange(0.0, offering.patience - 1e-9, every)
    ends = np.append(starts[1:], offering.patience)
    values, asks = np.full(len(ends) + 1, offering.fallback), np.empty(len(ends))
    for place in range(len(ends) - 1, -1, -1):
        stretch = _Stretch(offering, float(starts[place]), float(ends[place]), float(values[place + 1]))
        asks[place], values[place] = stretch.best(about)
    hazard = offering.waiting.cumulative(asks, ends) - offering.waiting.cumulative(asks, starts)
    reached = np.exp(-np.append(0.0, np.cumsum(hazard)))[:-1]
    return Steps(starts, asks, values, reached)


@dataclass(frozen=True, eq=False)
class _Stretch:
    """Days in which the ask is kept, and what the unit is worth if it stands at their end."""

    offering: Offering
    start: float
    end: float
    after: float

    def value(self, asks: FloatArray) -> FloatArray:
        """Return what is expected at the start with each ask, shape (asks,)."""
        waiting = self.offering.waiting
        half = (self.end - self.start) / 2
        # Days counted by the square of the nodes lie close at the start, where the hazard of a new listing may jump.
        days = self.start + 2 * half * ((_NODES + 1) / 2) ** 2
        weights = half * _WEIGHTS * (_NODES + 1)
        before = waiting.cumulative(asks, self.start)
        held = np.exp(before[:, None] - waiting.cumulative(asks[:, None], days)) @ weights
        stands = np.exp(before - waiting.cumulative(asks, self.end))
        sold = self.offering.net_of(asks) * (1 - stands)
        return np.asarray(sold + self.after * stands - self.offering.holding * held)

    def best(self, about: float) -> tuple[float, float]:
        """Return the best ask in whole minor units and its value."""
        unit = float(minor_unit(self.offering.currency))
        low, high = _LOWEST * about, _HIGHEST * about
        for _ in range(_ROUNDS):
            asks = np.linspace(low, high, _GRID)
            best = float(asks[np.argmax(self.value(asks))])
            step = (high - low) / (_GRID - 1)
            low, high = max(best - 2 * step, unit), best + 2 * step
        whole = np.maximum(np.round(best / unit) + np.arange(-2, 3), 1) * unit
        values = self.value(whole)
        place = int(np.argmax(values))
        return float(whole[place]), float(values[place])


def told_steps(steps: Steps, currency: str) -> tuple[PriceStep, ...]:
    """Return the steps as money; a stretch whose ask is that of the one before is not a step."""
    found: list[PriceStep] = []
    for start, ask, reached in zip(steps.starts, steps.asks, steps.reached, strict=True):
        money = money_from_float(float(ask), currency)
        if not found or found[-1].ask != money:
            found.append(PriceStep(from_day=float(start), ask=money, reached=float(reached)))
    return tuple(found)


def stock_values(offering: Offering, units: int, about: float) -> FloatArray:
    """Return what 0, 1, ... units alike are worth together, when the ask may change at any moment.

    A buyer takes one unit at a time; the hazard is that of a new listing all the time (its slope over the first day),
    because a buyer does not see how long the stock has stood. Shape (units + 1,).
    """
    asks = np.linspace(_LOWEST * about, _HIGHEST * about, 4 * _GRID)
    rates, nets = offering.waiting.cumulative(asks, 1.0), offering.net_of(asks)

    def growth(_left: float, values: FloatArray) -> FloatArray:
        """Return by how much a day more of patience raises each value."""
        gains = rates * (nets - np.diff(values)[:, None])
        highest = np.maximum(_peaks(gains), 0.0)
        return np.append(0.0, highest - offering.holding * np.arange(1, units + 1))

    start = offering.fallback * np.arange(units + 1)
    found = solve_ivp(growth, (0.0, offering.patience), start, rtol=1e-9, atol=1e-9, method="DOP853")
    return np.asarray(found.y[:, -1])


def _peaks(gains: FloatArray) -> FloatArray:
    """Return the highest value of each row, between its points by the parabola through the three highest."""
    top = np.clip(np.argmax(gains, axis=1), 1, gains.shape[1] - 2)
    rows = np.arange(len(gains))
    left, middle, right = gains[rows, top - 1], gains[rows, top], gains[rows, top + 1]
    bend = left - 2 * middle + right
    with np.errstate(divide="ignore", invalid="ignore"):
        rise = np.where(bend < 0, (left - right) ** 2 / (-8 * bend), 0.0)
    return np.asarray(np.maximum(middle + np.minimum(rise, np.abs(right - left)), gains.max(axis=1)))


def _refused(column: str, found: str, expected: str) -> BadInput:
    problem = Problem("asking", None, column, found, expected)
    return BadInput(str(problem), (problem,))
