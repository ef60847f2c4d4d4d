"""What the ablation table says of kept results."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.benchmarks.ablation_parts import FULL, MAIN
from tests.benchmarks.ablation_table import bound_lines, report, state_of, useless, worse, worse_lines
from tests.benchmarks.peer_results import Result, Results, read_results, write_results
from tests.benchmarks.peer_scores import FoldScore


def result(score: float, **settings: object) -> Result:
    """Return a result of one fold of 100 sales with the same score at every level."""
    fold = FoldScore(100, {50: 52, 80: 81, 90: 90, 95: 96}, dict.fromkeys((50, 80, 90, 95), score), 0.05)
    return Result(settings, 1, {"plainsale": "0"}, "one core", (fold,))


def refused() -> Result:
    return replace(result(1.0, refused="columns say the same"), folds=())


@pytest.fixture
def results() -> Results:
    broken = {"raising": ["wifi dead"], "states": 9, "order": 2, "numbers": []}
    return {
        "houses": {FULL: result(0.5), MAIN: result(0.8), "trees": result(0.6), "spread": result(0.4),
                   "penalties": result(1.0)},
        "demo": {FULL: result(0.2), MAIN: result(0.2), "trees": result(0.2), "spread": result(0.2001),
                 "penalties": refused(), "bounds": result(0.21, broken=[broken])},
    }  # fmt: skip


def test_a_part_is_worth_what_the_score_loses_without_it(results: Results) -> None:
    assert worse(results["houses"], "trees", 80) == pytest.approx(0.2)
    assert worse(results["houses"], "spread", 80) == pytest.approx(-0.2)


def test_all_penalties_are_judged_beside_main_effects(results: Results) -> None:
    assert worse(results["houses"], "penalties", 90) == pytest.approx(0.25)


def test_the_last_column_is_the_geometric_mean_over_the_sets_with_a_figure(results: Results) -> None:
    lines = worse_lines(results, ["houses", "demo"], 80)
    assert "| trees | +20.0 | +0.0 | +9.5 |" in lines  # the root of 1.2 times 1
    assert "| all penalties at once | +25.0 | no fit | +25.0 |" in lines


def test_a_set_without_a_figure_says_why(results: Results) -> None:
    assert "| bounds | no bounds | +5.0 | +5.0 |" in worse_lines(results, ["houses", "demo"], 80)
    assert state_of(results["houses"], "bends") == "not run"
    assert state_of(results["demo"], "penalties") == "no fit"
    without_full = {"trees": results["houses"]["trees"]}
    assert state_of(without_full, "trees") == "not run"


def test_a_part_brings_nothing_only_when_no_set_is_worse_by_a_tenth_of_a_percent(results: Results) -> None:
    assert useless(results, ["houses", "demo"]) == ["spread"]  # 0.05 % on demo, and better without it on houses
    assert useless(results, ["demo"]) == ["spread", "trees"]


def test_broken_bounds_are_told_draw_by_draw(results: Results) -> None:
    assert bound_lines(results)[2:] == ["| 1 | 9 | 1 | wifi dead | 2 | none |"]


def test_the_report_names_the_machine_what_was_refused_and_what_brings_nothing(results: Results) -> None:
    text = report(results, ["mariokart", "houses", "demo"])
    assert "Machine: one core. plainsale 0." in text
    assert "demo without all penalties at once: columns say the same" in text
    assert "Brings nothing on any set: spread." in text
    assert "mariokart" not in text


def test_results_with_broken_bounds_are_kept(tmp_path, results: Results) -> None:
    write_results(tmp_path / "kept.json", results)
    assert read_results(tmp_path / "kept.json") == results
