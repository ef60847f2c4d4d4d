from __future__ import annotations

import numpy as np
import pytest
from scipy import optimize

from pricing.decisions.asking import ask_curve, best_ask, round_asks
from pricing.errors import BadInput
from tests.counts import count
from tests.offerings import less_fees, unit_offering


@pytest.mark.parametrize("seed", range(count(200)))
def test_the_best_ask_is_that_of_a_numeric_search(seed):
    rng = np.random.default_rng(seed)
    offering = unit_offering(
        holding=rng.uniform(0.05, 2), patience=rng.uniform(10, 120), fallback=rng.uniform(0, 120),
        median_days=rng.uniform(5, 40), steepness=rng.uniform(2, 9), shape=rng.uniform(0.7, 1.4),
    )  # fmt: skip
    found = optimize.differential_evolution(
        lambda at: -float(offering.expected(at)[0]), [(50, 800)], seed=seed, tol=1e-10, maxiter=200, polish=True
    )
    best = best_ask(offering, 200)
    assert float(offering.expected(np.array([best]))[0]) == pytest.approx(-found.fun, abs=1e-3)
    assert best == pytest.approx(found.x[0], abs=0.02)


def test_expected_net_is_the_mean_over_drawn_waits():
    offering = unit_offering(median_days=20, steepness=5, shape=1.3)
    law, ask = offering.waiting.law, 210.0
    rng = np.random.default_rng(8)
    wait = np.exp(law.constant + law.slope * np.log(ask / 200)) * rng.weibull(1 / law.spread, 400_000)
    sold = wait <= offering.patience
    drawn = np.where(sold, less_fees(ask), offering.fallback) - offering.holding * np.minimum(wait, offering.patience)
    error = drawn.std() / np.sqrt(len(drawn))
    assert float(offering.expected(np.array([ask]))[0]) == pytest.approx(drawn.mean(), abs=4 * error)


def test_a_dearer_day_and_less_patience_lower_the_ask():
    asks = [best_ask(unit_offering(holding=cost), 200) for cost in (0.1, 0.5, 1.0, 2.0)]
    assert asks == sorted(asks, reverse=True)
    assert asks[0] > asks[-1]
    asks = [best_ask(unit_offering(patience=days), 200) for days in (7, 30, 90)]
    assert asks == sorted(asks)
    assert asks[0] < asks[-1]


def test_a_better_fallback_raises_the_ask():
    asks = [best_ask(unit_offering(fallback=left), 200) for left in (0, 60, 120)]
    assert asks[0] < asks[1] < asks[2]


def test_a_fee_that_jumps_makes_the_best_ask_stay_below_its_tier():
    def jumping(asks):
        """20 more from 205 on."""
        return np.where(np.asarray(asks) < 205, less_fees(asks), less_fees(asks) - 20)

    smooth, jump = unit_offering(steepness=5), unit_offering(steepness=5, net_of=jumping)
    assert best_ask(smooth, 200) > 205
    assert best_ask(jump, 200) == pytest.approx(204.99)


def test_the_curve_tells_chances_that_fall_with_the_ask_and_grow_with_the_days():
    offering = unit_offering()
    curve = ask_curve(offering, offering.waiting, np.array([150.0, 200.0, 250.0]))
    assert [float(point.ask.amount) for point in curve] == [150, 200, 250]
    assert [chance.days for chance in curve[0].chances] == [7, 14, 30, 60]
    for point in curve:
        chances = [chance.chance for chance in point.chances]
        assert chances == sorted(chances)
        assert all(chance.low_95 is None for chance in point.chances)
    assert curve[1].chances[1].chance == pytest.approx(0.5)
    assert curve[0].mean_days < curve[1].mean_days < curve[2].mean_days
    assert float(curve[1].net.amount) == 170
    assert float(curve[1].expected.amount) == pytest.approx(float(offering.expected(np.array([200.0]))[0]), abs=0.005)


def test_round_asks_are_round_and_different():
    assert round_asks(150, 250, 11, "EUR").tolist() == list(range(150, 251, 10))
    assert round_asks(np.float64(150), np.float64(250), 11, "EUR").tolist() == list(range(150, 251, 10))
    assert len(round_asks(0.011, 0.02, 20, "EUR")) == 2
    assert (round_asks(1000, 9000, 8, "JPY") % 10 == 0).all()


@pytest.mark.parametrize(
    ("wrong", "column"),
    [({"holding": -1}, "holding"), ({"holding": np.inf}, "holding"), ({"patience": 0}, "patience"),
     ({"patience": np.nan}, "patience"), ({"fallback": np.nan}, "fallback")],
)  # fmt: skip
def test_what_cannot_be_is_refused(wrong, column):
    with pytest.raises(BadInput, match=f"asking, {column}: found"):
        unit_offering(**wrong)
