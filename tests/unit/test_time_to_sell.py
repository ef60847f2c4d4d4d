from __future__ import annotations

import numpy as np
import pytest
from scipy import optimize

from pricing.decisions.time_to_sell import Waits, _Likelihood, fit_weibull, learn_waiting, standing
from pricing.decisions.waiting_law import assumed_law
from pricing.errors import CannotFit
from pricing.records.waiting import WaitingAssumption
from tests.waits import CONSTANT, SHAPE, SLOPE, draw_waits

ASSUMED = WaitingAssumption(median_days=10, steepness=4, shape=0.9)


def columns_of(waits):
    return np.column_stack([np.ones(len(waits.days)), waits.over_log])


@pytest.mark.parametrize("given", [None, 0.0])
def test_gradient_and_hessian_are_those_of_the_likelihood(given):
    waits = draw_waits(np.random.default_rng(1), 50)
    problem = _Likelihood(np.log(waits.days), waits.sold, columns_of(waits), given)
    place = np.array([2.7, 4.0, 0.2])[: 3 if given is None else 2]
    numeric = optimize.approx_fprime(place, problem.cost, 1e-6)
    assert problem.gradient(place) == pytest.approx(numeric, rel=1e-3, abs=1e-3)
    steps = np.eye(len(place)) * 1e-6
    rows = [(problem.gradient(place + step) - problem.gradient(place - step)) / 2e-6 for step in steps]
    assert problem.hessian(place) == pytest.approx(np.array(rows), rel=1e-5, abs=1e-3)


def test_many_listings_give_back_the_law_they_were_drawn_from():
    law = learn_waiting(draw_waits(np.random.default_rng(2), 20_000), ASSUMED)
    assert law.basis == "listings"
    assert (law.constant, law.slope, 1 / law.spread) == pytest.approx((CONSTANT, SLOPE, SHAPE), rel=0.03)


def test_dropping_the_unsold_makes_goods_seem_to_sell_sooner():
    waits = draw_waits(np.random.default_rng(3), 4_000)
    sold = Waits(waits.days[waits.sold], waits.sold[waits.sold], waits.over_log[waits.sold])
    whole, part = (learn_waiting(each, ASSUMED) for each in (waits, sold))
    deviation = np.sqrt(whole.covariance[0, 0])
    assert abs(whole.constant - CONSTANT) < 3 * deviation
    assert part.constant < CONSTANT - 10 * deviation
    assert part.slope < whole.slope


def test_fewer_than_30_sales_teach_nothing():
    waits = draw_waits(np.random.default_rng(4), 400)
    keep = np.flatnonzero(waits.sold)[:29]
    rows = np.append(keep, np.flatnonzero(~waits.sold))
    law = learn_waiting(Waits(waits.days[rows], waits.sold[rows], waits.over_log[rows]), ASSUMED)
    assert (law.basis, law.constant, law.slope) == ("assumed", assumed_law(ASSUMED).constant, 4)
    assert not law.covariance.any()


@pytest.mark.parametrize("slope", [0.0, -3.0])
def test_where_dearer_units_do_not_sell_later_the_steepness_is_assumed(slope):
    waits = draw_waits(np.random.default_rng(5), 2_000, slope=slope)
    law = learn_waiting(waits, ASSUMED)
    assert (law.basis, law.slope) == ("listings, steepness assumed", ASSUMED.steepness)
    assert law.constant == pytest.approx(CONSTANT, abs=0.3)
    assert law.covariance[0, 0] > 0
    assert not law.covariance[1].any()


def test_listings_that_all_ask_the_same_leave_the_steepness_assumed():
    waits = draw_waits(np.random.default_rng(6), 500)
    law = learn_waiting(Waits(waits.days, waits.sold, np.zeros(500)), ASSUMED)
    assert law.slope == ASSUMED.steepness


def test_a_sale_on_the_day_of_listing_counts_as_half_a_day():
    waits = draw_waits(np.random.default_rng(7), 500)
    law = learn_waiting(Waits(np.floor(waits.days), waits.sold, waits.over_log), ASSUMED)
    assert np.isfinite(law.constant)


def test_without_any_sale_nothing_can_be_learnt():
    days, none = np.array([3.0, 4.0]), np.zeros(2, dtype=bool)
    with pytest.raises(CannotFit, match="no listing ended in a sale"):
        fit_weibull(days, none, np.ones((2, 1)))
    with pytest.raises(CannotFit, match="no listing ended in a sale"):
        standing(days, none)


def test_when_all_sold_none_stands_and_the_error_is_0():
    found = standing(np.array([1.0, 2.0]), np.ones(2, dtype=bool))
    assert (found.share[-1], found.error[-1], found.median) == (0, 0, 1)
