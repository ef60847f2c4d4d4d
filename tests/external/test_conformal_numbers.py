"""Conformal ranks and the interval score, against worked numbers.

Ranks: Vovk, Gammerman & Shafer (2005), Lei et al. (2018), JASA 113:1094. Interval score: Gneiting & Raftery (2007),
JASA 102:359-378, section 6.2. The numbers are exact arithmetic on the stated inputs.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from pricing.hedonic.conformal import calibrate, interval_score, lower_rank, upper_rank
from pricing.records.estimate import LEVELS


@pytest.mark.parametrize(
    ("count", "alpha", "rank"),
    [(19, 0.1, 18), (20, 0.1, 19), (99, 0.1, 90), (100, 0.1, 91), (39, 0.05, 38), (9, 0.1, 9), (8, 0.1, 9)],
)
def test_conformal_ranks(count: int, alpha: float, rank: int) -> None:
    assert upper_rank(count, alpha) == rank
    # The lower rank mirrors the upper one: the same sales are left out below as above.
    assert lower_rank(count, alpha) == count + 1 - rank


@pytest.mark.parametrize(
    ("count", "level", "coverage"),
    [(19, 90, 18 / 20), (20, 90, 19 / 21), (99, 90, 90 / 100), (100, 90, 91 / 101), (39, 95, 38 / 40)],
)
def test_the_share_covered_is_rank_over_one_more_than_the_scores(count: int, level: int, coverage: float) -> None:
    """Each of n + 1 scores is left out in turn: exactly k of them lie between the quantiles of the others."""
    scores, place = np.random.default_rng(7).normal(size=count + 1), LEVELS.index(level)
    others = [calibrate(np.delete(scores, number), freedom=30.0) for number in range(count + 1)]
    assert all(found.calibrated[place] for found in others)
    covered = [found.low[place] <= score <= found.high[place] for found, score in zip(others, scores, strict=True)]
    assert np.mean(covered) == pytest.approx(coverage, rel=1e-12)


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
    # Rank 19 of 19 at 90 %; of 39 scores at 50 %, ranks 10 and 30: no quantile rule that interpolates or rounds up.
    assert calibrate(np.arange(1.0, 20.0), freedom=30.0).high[2] == 19.0
    assert (found.low[0], found.high[0]) == (10.0, 30.0)


@pytest.mark.parametrize(
    ("low", "high", "actual", "alpha", "score"),
    [(90, 110, 100, 0.1, 20), (90, 110, 85, 0.1, 120), (90, 110, 120, 0.1, 220), (100, 180, 205, 0.2, 330)],
)
def test_interval_scores(low, high, actual, alpha, score) -> None:
    found = interval_score(np.array([low]), np.array([high]), np.array([actual]), alpha)
    assert found[0] == pytest.approx(score, rel=1e-12)


def test_the_true_interval_has_the_lowest_expected_score() -> None:
    draws = stats.norm.ppf((np.arange(400_000) + 0.5) / 400_000)

    def expected(low: float, high: float) -> float:
        rows = len(draws)
        return float(interval_score(np.full(rows, low), np.full(rows, high), draws, 0.1).mean())

    edge = 1.6448536
    assert expected(-edge, edge) == pytest.approx(4.125425615, abs=1e-4)
    for low, high in ((-1.5, 1.5), (-1.8, 1.8), (-1.4, 1.9), (-edge, 2.0)):
        assert expected(low, high) > expected(-edge, edge)
