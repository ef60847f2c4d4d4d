"""The peers' tables, and results that are kept."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.benchmarks.peer_results import Result, Results, read_results, write_results
from tests.benchmarks.peer_scores import FoldScore
from tests.benchmarks.peer_tables import (
    END,
    START,
    between_markers,
    full_table,
    ratio_table,
    readme_table,
    report,
    settings_table,
)

LEVELS = (50, 80, 90, 95)


def result(score: float, *, covered: float = 1.0, error: float = 0.1) -> Result:
    """Return one fold of 1,000 sales, of which the stated share of those promised are inside."""
    inside = {level: round(10 * level * covered) for level in LEVELS}
    fold = FoldScore(1000, inside, dict.fromkeys(LEVELS, score), error, 1.5, 0.25, 0.125)
    return Result({"rounds": 100}, 8, {"numpy": "2.0"}, "2 cores", (fold,))


RESULTS: Results = {
    "mariokart": {"ours": result(0.4, error=0.11), "ols": result(0.5), "ngboost": result(0.3, covered=0.9)},
    "diamond": {"ours": result(0.1), "ols": result(0.4), "mixedlm": result(0.2)},
}


def test_ours_is_divided_by_the_best_peer_that_covers() -> None:
    row = next(line for line in ratio_table(RESULTS) if line.startswith("| mariokart"))
    assert row.split(" | ")[1:4] == ["0.4000", "0.5000 least squares (statsmodels)", "0.800"]
    assert row.endswith("| 1.100 |")


def test_the_means_are_told_with_and_without_the_easy_set() -> None:
    assert "Geometric mean of the ratios at 80 %: 0.632, without diamond 0.800." in ratio_table(RESULTS)


def test_where_no_peer_covers_there_is_no_ratio() -> None:
    lines = ratio_table({"houses": {"ours": result(0.4), "ngboost": result(0.3, covered=0.9)}})
    assert "no peer covers" in lines[2]


def test_a_coverage_that_misses_stands_in_brackets() -> None:
    row = next(line for line in full_table(RESULTS) if "NGBoost" in line)
    assert "| (45.0)/(72.0)/(81.0)/(85.5) |" in row


def test_a_method_that_cannot_be_used_is_named_with_the_reason() -> None:
    unused = Result({}, 1, {}, "", ())
    results = {"houses": {"ours": result(0.4), "mixedlm": unused}}
    assert any("not used" in line for line in settings_table(results))
    assert not any("intercept" in line for line in full_table(results))


def test_results_come_back_as_they_were_kept(tmp_path: Path) -> None:
    path = tmp_path / "kept.json"
    assert read_results(path) == {}
    write_results(path, RESULTS)
    assert read_results(path) == RESULTS


@pytest.mark.parametrize("word", ["numpy 2.0", "2 cores", "rounds 100", "1.5 | 0.25"])
def test_the_report_names_machine_versions_settings_and_seconds(word: str) -> None:
    assert word in report(RESULTS)


def test_the_readme_tells_what_a_method_reached_from_what_it_cannot_do_and_what_was_not_run() -> None:
    unused = {"mariokart": {**RESULTS["mariokart"], "mixedlm": Result({}, 1, {}, "", ())}}
    lines = readme_table({**RESULTS, **unused}).splitlines()
    assert "| plainsale | 0.400 (80) | 0.100 (80) |" in lines
    assert "| random intercept (statsmodels) | not applicable | 0.200 (80) |" in lines
    assert "| natural-gradient boosting (NGBoost) | 0.300 (72) | not run |" in lines
    assert "| ours over the best that covers, 80 % | 0.800 | 0.500 |" in lines


def test_only_what_stands_between_the_markers_changes() -> None:
    text = f"before\n{START}\nold\n{END}\nafter\n"
    assert between_markers(text, "new") == f"before\n{START}\nnew\n{END}\nafter\n"


@pytest.mark.parametrize("text", ["no markers", START, f"{END} {START}"])
def test_a_text_without_both_markers_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="peers: start"):
        between_markers(text, "new")
