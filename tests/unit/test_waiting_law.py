from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from pricing.decisions.waiting_law import WaitingLaw, assumed_law
from pricing.records.waiting import WaitingAssumption

LAW = WaitingLaw(2.5, 5.0, 0.8, np.zeros((3, 3)), "listings")


def test_half_of_the_units_at_their_estimate_sell_in_the_assumed_median():
    law = assumed_law(WaitingAssumption(median_days=21, steepness=3, shape=1.4))
    assert law.basis == "assumed"
    assert law.for_unit(300).chance(300, 21) == pytest.approx(0.5)


def test_one_percent_more_asked_takes_steepness_percent_longer():
    unit = assumed_law(WaitingAssumption(median_days=20, steepness=7)).for_unit(100)
    assert unit.chance(100 * 1.01, 20 * 1.01**7) == pytest.approx(0.5)


@pytest.mark.parametrize("patience", [1.0, 30.0, np.inf])
@pytest.mark.parametrize("ask", [80.0, 100.0, 130.0])
def test_mean_days_are_the_integral_of_the_chance_to_stand(ask, patience):
    unit = LAW.for_unit(100)
    numeric, _ = quad(lambda day: 1 - float(unit.chance(ask, day)), 0, patience, limit=200)
    assert unit.mean_days(ask, patience) == pytest.approx(numeric, rel=1e-6)


def test_a_dearer_unit_is_never_sold_sooner_and_a_longer_wait_never_sells_less():
    unit = LAW.for_unit(100)
    asks, days = np.linspace(20, 400, 50), np.linspace(0, 200, 40)
    chances = unit.chance(asks[:, None], days)
    assert (np.diff(chances, axis=0) <= 0).all()
    assert (np.diff(chances, axis=1) >= 0).all()
    assert (chances[:, 0] == 0).all()


def test_the_interval_of_a_chance_holds_it_and_is_a_point_where_nothing_was_learnt():
    learnt = WaitingLaw(2.5, 5.0, 0.8, np.diag([0.01, 0.25, 0.01]), "listings")
    asks = np.array([90.0, 110.0])
    low, high = learnt.for_unit(100).chance_between(asks, 14)
    chance = learnt.for_unit(100).chance(asks, 14)
    assert (low < chance).all()
    assert (chance < high).all()
    low, high = LAW.for_unit(100).chance_between(asks, 14)
    assert low == pytest.approx(high)


def test_the_interval_of_a_chance_agrees_with_drawn_laws():
    spread = np.array([[0.01, 0.002, 0.0], [0.002, 0.2, 0.003], [0.0, 0.003, 0.004]])
    learnt = WaitingLaw(2.5, 5.0, 0.8, spread, "listings")
    draws = np.random.default_rng(1).multivariate_normal([2.5, 5.0, np.log(0.8)], spread, 4000)
    drawn = [
        float(WaitingLaw(constant, slope, np.exp(log), spread, "listings").for_unit(100).chance(105, 14))
        for constant, slope, log in draws
    ]
    low, high = learnt.for_unit(100).chance_between(105, 14)
    assert (low, high) == pytest.approx(tuple(np.quantile(drawn, [0.025, 0.975])), abs=0.015)
