"""What a method reached, and which peer counts."""

from __future__ import annotations

import numpy as np
import pytest

from tests.benchmarks.peer_scores import FoldScore, Priced, Reached, best_covering, fold_score, geometric_mean

PRICES = np.array([10.0, 20.0, 40.0, 80.0])


def priced(low: float, high: float) -> Priced:
    edges = {level: np.full(4, low) for level in (50, 80)}, {level: np.full(4, high) for level in (50, 80)}
    return Priced(np.array([11.0, 20.0, 40.0, 40.0]), *edges)


def reached(inside: int, score: float) -> Reached:
    """Return one fold of 100 sales with so many inside the 80 % interval."""
    return Reached((FoldScore(100, {80: inside}, {80: score}, 0.1),))


def test_a_fold_counts_the_sales_inside_and_pays_for_those_outside() -> None:
    found = fold_score(priced(10, 50), PRICES)
    assert found.inside == {50: 3, 80: 3}
    # By hand: widths of 40, and one sale 30 above its interval costs 2 / (1 - 0.8) times 30; the median price is 30.
    assert found.score[80] == pytest.approx((40 + 10 * 30 / 4) / 30)
    assert found.score[50] == pytest.approx((40 + 4 * 30 / 4) / 30)


def test_the_error_of_a_fold_is_the_median_share_of_the_price() -> None:
    assert fold_score(priced(10, 50), PRICES).error == pytest.approx(0.05)  # of 0.1, 0, 0 and 0.5


@pytest.mark.parametrize("edge", [np.inf, np.nan])
def test_a_sale_without_a_figure_is_an_error(edge: float) -> None:
    with pytest.raises(ValueError, match="no figure"):
        fold_score(priced(10, edge), PRICES)


def test_coverage_is_counted_over_sales_and_scores_over_folds() -> None:
    folds = FoldScore(10, {80: 10}, {80: 1.0}, 0.1, 2.0), FoldScore(30, {80: 20}, {80: 2.0}, 0.3, 4.0)
    found = Reached(folds)
    assert (found.coverage(80), found.score(80), found.error) == pytest.approx((0.75, 1.5, 0.2))
    assert found.seconds("fit") == pytest.approx(3.0)


def test_a_method_may_miss_by_three_points_below_and_by_any_number_above() -> None:
    assert [reached(inside, 1.0).covers(80) for inside in (76, 77, 83, 100)] == [False, True, True, True]


def test_the_best_peer_is_the_sharpest_one_that_covers_and_never_ours() -> None:
    found = {"ours": reached(80, 0.1), "narrow": reached(70, 0.2), "good": reached(79, 0.4), "wide": reached(95, 0.5)}
    assert best_covering(found, 80) == "good"
    assert best_covering({"ours": found["ours"], "narrow": found["narrow"]}, 80) is None


def test_a_geometric_mean_multiplies() -> None:
    assert geometric_mean([0.5, 2.0, 8.0]) == pytest.approx(2.0)
