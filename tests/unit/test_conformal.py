from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from pricing.hedonic.conformal import MOST_SCORES, calibrate, interval_score, lower_rank, thinned, upper_rank
from pricing.records.estimate import LEVELS


@pytest.mark.parametrize(
    ("scores", "alpha", "lower", "upper"), [(39, 0.025, 1, 39), (38, 0.025, 0, 39), (99, 0.05, 5, 95), (9, 0.1, 1, 9)]
)
def test_ranks_count_from_the_ends_of_n_plus_1(scores: int, alpha: float, lower: int, upper: int) -> None:
    assert lower_rank(scores, alpha) == lower
    assert upper_rank(scores, alpha) == upper


@given(st.integers(1, 5000), st.sampled_from([0.025, 0.05, 0.1, 0.25]))
def test_both_ranks_lie_equally_far_from_their_ends(count: int, alpha: float) -> None:
    assert lower_rank(count, alpha) == count + 1 - upper_rank(count, alpha)


def test_the_interval_runs_between_the_ranked_scores_whatever_their_order() -> None:
    scores = np.random.default_rng(0).permutation(np.arange(1.0, 100.0))
    calibration = calibrate(scores, freedom=90.0)
    assert calibration.low[:, 0].tolist() == [25.0, 10.0, 5.0, 2.0]
    assert calibration.high[:, 0].tolist() == [75.0, 90.0, 95.0, 98.0]
    assert calibration.calibrated == (True,) * len(LEVELS)


def test_fewer_than_39_scores_leave_the_widest_interval_to_student_t() -> None:
    scores = np.linspace(-2, 3, 38)
    calibration = calibrate(scores, freedom=30.0)
    assert calibration.calibrated == (True, True, True, False)
    assert calibration.high[-1] == pytest.approx(stats.t.ppf(0.975, 30))
    assert calibration.low[-1, 0] == -calibration.high[-1, 0]
    assert calibrate(np.append(scores, 0.1), freedom=30.0).calibrated[-1]


def test_without_scores_every_level_is_student_t() -> None:
    calibration = calibrate(np.arange(1000.0), freedom=7.0, use_scores=False)
    assert calibration.calibrated == (False,) * len(LEVELS)
    assert calibration.high[:, 0] == pytest.approx([stats.t.ppf(0.5 + level / 200, 7) for level in LEVELS])


def test_a_fresh_score_falls_inside_as_often_as_the_level_says() -> None:
    rng = np.random.default_rng(1)
    inside = np.zeros(len(LEVELS))
    for _ in range(2000):
        scores = rng.standard_t(4, 60)
        calibration = calibrate(scores[:-1], freedom=58.0)
        inside += (calibration.low[:, 0] <= scores[-1]) & (scores[-1] <= calibration.high[:, 0])
    # With 59 scores the ranks leave a little more than the level inside; 4 standard errors are 0.05 at most.
    for share, level in zip(inside / 2000, LEVELS, strict=True):
        assert level / 100 - 0.03 < share < level / 100 + 0.06


def test_many_scores_are_thinned_evenly_with_both_ends_kept() -> None:
    kept = thinned(np.arange(10_001.0))
    assert len(kept) == MOST_SCORES
    assert (kept[0], kept[-1]) == (0.0, 10_000.0)
    assert np.all(np.diff(kept) == 5.0)


def test_the_interval_score_is_the_width_plus_the_misses_over_half_alpha() -> None:
    low, high = np.array([1.0, 1.0, 1.0]), np.array([3.0, 3.0, 3.0])
    assert interval_score(low, high, np.array([2.0, 0.5, 4.0]), 0.2).tolist() == [2.0, 7.0, 12.0]
