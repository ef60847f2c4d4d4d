"""The remission times of Freireich et al. (1963), Blood 21:699, as standard texts on survival analysis print them.

Weeks in remission stand for days until sold, a relapse for a sale. Published: the shares by Kaplan and Meier, medians
23 and 8, Weibull intercept 3.516, effect -1.267, scale .732; the other figures were computed with other software.
"""

from __future__ import annotations

import numpy as np
import pytest

from pricing.decisions.time_to_sell import fit_weibull, standing

TREATED = np.array([6, 6, 6, 7, 10, 13, 16, 22, 23, 6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35], dtype=float)
RELAPSED = np.arange(21) < 9
PLACEBO = np.array([1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23], dtype=float)
ALL = np.ones(21, dtype=bool)
ONES = np.ones((21, 1))


def test_the_shares_still_standing_are_the_published_ones():
    found = standing(TREATED, RELAPSED)
    assert found.days.tolist() == [6, 7, 10, 13, 16, 22, 23]
    assert found.at_risk.tolist() == [21, 17, 15, 12, 11, 7, 6]
    assert found.share == pytest.approx([0.8571, 0.8067, 0.7529, 0.6902, 0.6275, 0.5378, 0.4482], abs=1e-4)
    assert found.error == pytest.approx([0.0764, 0.0869, 0.0963, 0.1068, 0.1141, 0.1282, 0.1346], abs=1e-4)


def test_the_medians_are_23_and_8():
    assert standing(TREATED, RELAPSED).median == 23
    assert standing(PLACEBO, ALL).median == 8
    assert standing(TREATED[[3, 10, 20]], RELAPSED[[3, 10, 20]]).median is None


def test_the_exponential_mean_is_all_weeks_over_all_relapses():
    fit = fit_weibull(TREATED, RELAPSED, ONES, shape=1.0)
    assert np.exp(fit.effects[0]) == pytest.approx(359 / 9)
    assert fit.log_likelihood == pytest.approx(-42.174880, abs=1e-5)


def test_dropping_those_without_a_relapse_makes_the_mean_less_than_a_third():
    only = fit_weibull(TREATED[RELAPSED], RELAPSED[RELAPSED], ONES[RELAPSED], shape=1.0)
    assert np.exp(only.effects[0]) == pytest.approx(12.11, abs=0.005)


def test_the_weibull_regression_has_its_published_figures():
    columns = np.column_stack([np.ones(42), np.repeat([0.0, 1.0], 21)])
    fit = fit_weibull(np.append(TREATED, PLACEBO), np.append(RELAPSED, ALL), columns)
    assert fit.effects == pytest.approx([3.515687, -1.267335], abs=1e-5)
    assert np.sqrt(fit.covariance[1, 1]) == pytest.approx(0.310640, abs=1e-5)
    assert -fit.spread_log == pytest.approx(0.311709, abs=1e-5)
    assert fit.log_likelihood == pytest.approx(-106.579492, abs=1e-5)
