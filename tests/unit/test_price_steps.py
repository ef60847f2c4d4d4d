from __future__ import annotations

import numpy as np
import pytest

from pricing.decisions.asking import best_ask
from pricing.decisions.price_steps import best_steps, told_steps
from pricing.errors import BadInput
from tests.offerings import demand, unit_offering


def simulated(offering, steps, *, draws, seed):
    """What the steps leave when each stretch is lived through."""
    rng = np.random.default_rng(seed)
    needed, found = rng.exponential(size=draws), np.full(draws, np.nan)
    passed = np.zeros(draws)
    ends = np.append(steps.starts[1:], offering.patience)
    for start, end, ask in zip(steps.starts, ends, steps.asks, strict=True):
        days = np.linspace(start, end, 400)
        hazard = offering.waiting.cumulative(ask, days) - offering.waiting.cumulative(ask, start)
        now = np.isnan(found) & (passed + hazard[-1] >= needed)
        sold_on = np.interp(needed[now] - passed[now], hazard, days)
        found[now] = offering.net_of(ask) - offering.holding * sold_on
        passed += hazard[-1]
    found[np.isnan(found)] = offering.fallback - offering.holding * offering.patience
    return found


def test_what_the_steps_are_expected_to_leave_is_the_mean_of_lived_through_offers():
    offering = unit_offering(shape=1.2)
    steps = best_steps(offering, 200, 10)
    drawn = simulated(offering, steps, draws=200_000, seed=3)
    assert steps.values[0] == pytest.approx(drawn.mean(), abs=4 * drawn.std() / np.sqrt(len(drawn)) + 0.02)


def test_one_step_is_the_best_ask_that_is_kept():
    offering = unit_offering()
    steps = best_steps(offering, 200, 60)
    assert steps.asks[0] == pytest.approx(best_ask(offering, 200), abs=0.011)
    assert steps.values[0] == pytest.approx(float(offering.expected(steps.asks)[0]), abs=1e-4)


def test_more_steps_never_leave_less():
    offering = unit_offering(shape=0.9)
    values = [best_steps(offering, 200, every).values[0] for every in (60, 30, 15, 5)]
    assert values == sorted(values)
    assert values[-1] > values[0] + 0.1


@pytest.mark.parametrize("shape", [0.8, 1.0])
def test_asks_come_down_while_the_unit_stands_unless_its_chances_grow(shape):
    steps = best_steps(unit_offering(shape=shape), 200, 7)
    assert (np.diff(steps.asks[1:]) < 0).all()
    assert (np.diff(steps.reached) < 0).all()
    assert steps.reached[0] == 1


def test_no_other_ask_of_any_stretch_is_better():
    offering = unit_offering()
    steps = best_steps(offering, 200, 20)
    best = simulated(offering, steps, draws=400_000, seed=5).mean()
    for place in range(3):
        for factor in (0.93, 1.07):
            asks = steps.asks.copy()
            asks[place] *= factor
            moved = type(steps)(steps.starts, asks, steps.values, steps.reached)
            assert simulated(offering, moved, draws=400_000, seed=5).mean() < best


def test_a_stretch_with_the_ask_of_the_one_before_is_no_step():
    steps = best_steps(demand(0.5, 0.02, patience=30.0), 100, 10)
    alike = type(steps)(steps.starts, np.array([90.0, 90.0, 80.0]), steps.values, steps.reached)
    told = told_steps(alike, "EUR")
    assert [(step.from_day, float(step.ask.amount)) for step in told] == [(0, 90), (20, 80)]


@pytest.mark.parametrize(("patience", "every"), [(np.inf, 7), (60, 0), (60, -1), (900, 1)])
def test_steps_without_end_are_refused(patience, every):
    with pytest.raises(BadInput, match="asking, every: found"):
        best_steps(unit_offering(patience=patience), 200, every)
