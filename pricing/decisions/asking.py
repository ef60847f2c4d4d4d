"""The best ask for a unit: what it is expected to leave, less the cost of holding it, for each ask that may be kept.

With N(a) what a sale at ask a leaves, F(t) the chance of a sale by day t, T the day of sale, P the days of patience,
c the cost of a day and R what the unit leaves when it is given up::

    expected(a) = N(a) F(P) + R (1 - F(P)) - c E[min(T, P)]

Asks and nets are floats of one currency here; what comes out is rounded money. The law is association (see
``time_to_sell``): it says how long units waited that were offered so, not what another ask would have caused.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from pricing.decisions.waiting_law import UnitWaiting, Waiting
from pricing.errors import BadInput, Problem
from pricing.records.asking import SHOWN_DAYS, AskPoint, SaleChance
from pricing.records.money import Money, minor_unit, money_from_float
from pricing.records.sales_table import FloatArray

NetOf = Callable[[FloatArray], FloatArray]
_LOWEST, _HIGHEST = 0.25, 4.0
_GRID = 193
_ROUNDS = 12


@dataclass(frozen=True, eq=False)
class Offering:
    """A unit that is to be offered.

    Attributes:
        waiting: How long it waits at each ask.
        net_of: What a sale at each ask leaves, elementwise; asks and nets as floats.
        currency: Of all amounts.
        holding: What a day costs: room, money bound, the fall of prices.
        patience: Days until it is given up; infinite: never.
        fallback: What it leaves when given up.
    """

    waiting: Waiting
    net_of: NetOf
    currency: str
    holding: float
    patience: float
    fallback: float

    def __post_init__(self) -> None:
        if not self.patience > 0:
            raise _refused("patience", str(self.patience), "more than 0 days")
        if not 0 <= self.holding < np.inf:
            raise _refused("holding", str(self.holding), "an amount of at least 0 a day")
        if not np.isfinite(self.fallback):
            raise _refused("fallback", str(self.fallback), "a finite amount")

    def expected(self, asks: FloatArray) -> FloatArray:
        """Return the expected net less the cost of holding, of asks that are kept, shape (asks,)."""
        stands = np.exp(-self.waiting.cumulative(asks, self.patience))
        held = self.holding * self.waiting.mean_days(asks, self.patience)
        # After an endless wait nothing is given up: it was sold, or the cost of holding has no end.
        left = np.zeros_like(stands) if np.isinf(self.patience) else self.fallback * stands
        return np.asarray(self.net_of(asks) * (1 - stands) + left - held)


def best_ask(offering: Offering, about: float) -> float:
    """Return the ask with the highest expected net, in whole minor units, from a quarter to four times ``about``.

    The range is searched by a grid that closes in: a fee that jumps at a tier may leave several peaks, of which the
    highest on the first grid is followed.
    """
    unit = float(minor_unit(offering.currency))
    low, high = _LOWEST * about, _HIGHEST * about
    best = about
    for _ in range(_ROUNDS):
        asks = np.linspace(low, high, _GRID)
        best = float(asks[np.argmax(offering.expected(asks))])
        step = (high - low) / (_GRID - 1)
        low, high = max(best - 2 * step, unit), best + 2 * step
        if step < unit / 2:
            break
    whole = np.maximum(np.round(best / unit) + np.arange(-3, 4), 1) * unit
    return float(whole[np.argmax(offering.expected(whole))])


def ask_curve(offering: Offering, waiting: UnitWaiting, asks: FloatArray) -> tuple[AskPoint, ...]:
    """Return what is to be expected of each ask, ``waiting`` being the unit's law."""
    days = np.array(SHOWN_DAYS, dtype=np.float64)
    chances = waiting.chance(asks[:, None], days)
    low, high = waiting.chance_between(asks[:, None], days)
    learnt = waiting.law.basis != "assumed"
    mean, nets, expected = waiting.mean_days(asks, offering.patience), offering.net_of(asks), offering.expected(asks)
    return tuple(
        AskPoint(
            ask=_money(ask, offering),
            chances=tuple(
                SaleChance(
                    days=day,
                    chance=float(chances[row, place]),
                    low_95=float(low[row, place]) if learnt else None,
                    high_95=float(high[row, place]) if learnt else None,
                )
                for place, day in enumerate(SHOWN_DAYS)
            ),
            mean_days=float(mean[row]),
            net=_money(nets[row], offering),
            expected=_money(expected[row], offering),
        )
        for row, ask in enumerate(asks)
    )


def round_asks(lowest: float, highest: float, points: int, currency: str) -> FloatArray:
    """Return asks evenly apart, rounded to two figures more than their distance, each once."""
    asks = np.linspace(lowest, highest, points)
    step = Decimal(10) ** (Decimal(repr(float(max((highest - lowest) / points, 1e-9)))).adjusted() - 1)
    unit = float(max(step, minor_unit(currency)))
    return np.unique(np.maximum(np.round(asks / unit), 1) * unit)


def _money(amount: float, offering: Offering) -> Money:
    return money_from_float(float(amount), offering.currency)


def _refused(column: str, found: str, expected: str) -> BadInput:
    problem = Problem("asking", None, column, found, expected)
    return BadInput(str(problem), (problem,))
