from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from pricing.hedonic.conformal import (
    FEWEST_OF_A_CLASS,
    MOST_SCORES,
    calibrate,
    calibrate_groups,
    interval_score,
    lower_rank,
    thinned,
    upper_rank,
)
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


def test_each_third_of_the_estimates_has_quantiles_of_its_own_and_between_them_they_are_interpolated() -> None:
    rng = np.random.default_rng(2)
    means = rng.permutation(np.repeat([-1.0, 0.0, 1.0], FEWEST_OF_A_CLASS))
    scores = np.exp(means) * rng.standard_normal(len(means))
    found = calibrate(scores, 500.0, means=means)
    assert found.places.tolist() == [-1.0, 0.0, 1.0]
    for place, mean in enumerate(found.places):
        alone = calibrate(scores[means == mean], 500.0)
        assert np.array_equal(found.high[:, place], alone.high[:, 0])
        assert np.array_equal(found.low[:, place], alone.low[:, 0])
    low, high = found.multiples(90, np.array([-9.0, -1.0, -0.25, 1.0, 9.0]))
    ends = found.high[LEVELS.index(90)]
    assert high == pytest.approx([ends[0], ends[0], 0.25 * ends[0] + 0.75 * ends[1], ends[2], ends[2]])
    assert np.all(np.diff(high) >= 0)
    assert np.all(low < 0)


def test_fewer_scores_or_estimates_all_alike_have_one_set_of_quantiles() -> None:
    scores = np.random.default_rng(3).normal(size=3 * FEWEST_OF_A_CLASS)
    few = calibrate(scores[1:], 500.0, means=np.arange(len(scores) - 1.0))
    alike = calibrate(scores, 500.0, means=np.zeros(len(scores)))
    for found in (few, alike):
        assert len(found.places) == found.low.shape[1] == 1
        assert np.ptp(found.multiples(80, np.array([-5.0, 0.0, 5.0]))[1]) == 0.0


def test_each_group_counts_the_same_however_many_sales_it_has() -> None:
    rng = np.random.default_rng(4)
    single = [rng.normal(size=1) for _ in range(60)]
    repeated = [np.repeat(group, rng.integers(1, 30)) for group in single]
    found, expected = calibrate_groups(repeated, 50.0), calibrate(np.concatenate(single), 50.0)
    assert np.array_equal(found.low, expected.low)
    assert np.array_equal(found.high, expected.high)
    assert found.calibrated == expected.calibrated == (True,) * len(LEVELS)
    # One huge group of large scores moves a plain count of sales, not this one.
    huge = [*single, np.full(5000, 40.0)]
    assert calibrate_groups(huge, 50.0).high[LEVELS.index(90), 0] < 40.0
    assert calibrate(np.concatenate(huge), 50.0).high[0, 0] == 40.0


def test_too_few_groups_leave_the_wide_intervals_to_student_t_however_many_scores_they_have() -> None:
    groups = [np.random.default_rng(number).normal(size=100) for number in range(20)]
    found = calibrate_groups(groups, 12.0)
    assert found.calibrated == (True, True, True, False)
    assert found.high[3, 0] == pytest.approx(stats.t.ppf(0.975, 12.0)) == -found.low[3, 0]


def test_groups_of_many_sizes_have_the_same_quantiles_when_all_signs_turn() -> None:
    rng = np.random.default_rng(5)
    groups = [rng.normal(size=rng.integers(1, 40)) for _ in range(57)]
    found, turned = calibrate_groups(groups, 50.0), calibrate_groups([-group for group in groups], 50.0)
    assert np.array_equal(turned.high, -found.low)
    assert np.array_equal(turned.low, -found.high)
