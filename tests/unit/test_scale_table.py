"""The figures of scale in words and ratios."""

from __future__ import annotations

import pytest

from tests.benchmarks.scale_table import growth_of, report


def core(fit: float, gram: float) -> dict[str, float]:
    return {"columns": 507, "fit": fit, "fit_work": 2 * fit, "gram": gram, "gram_work": gram, "peak": 512.4}


def beside(own: float, theirs: float) -> dict[str, float]:
    return {"own": own, "own_work": own, "theirs": theirs, "theirs_work": 2 * theirs}


KEPT = {"machine": "2 cores", "core-100000": core(2.0, 4.0), "core-1000000": core(18.0, 40.0), "unit": beside(0.5, 2.0)}


def test_growth_is_the_work_of_a_million_over_ten_times_that_of_a_tenth() -> None:
    assert growth_of(KEPT) == pytest.approx(0.9)
    assert growth_of({"core-100000": core(2.0, 4.0)}) is None


@pytest.mark.parametrize(
    "words",
    ["Machine: 2 cores.", "| 1,000,000 | 507 | 18 (36) | 40 (40) | 0.450 (0.900) | 512 |  |", "over ten: 0.90",
     "| 0.250 (0.125) |"],
)  # fmt: skip
def test_the_report_gives_ratios_of_the_wall_and_of_the_work(words: str) -> None:
    assert words in report(KEPT)


def test_a_part_that_was_not_measured_is_left_out() -> None:
    assert "Computers" not in report(KEPT)
    assert "boosters" not in report(KEPT)
