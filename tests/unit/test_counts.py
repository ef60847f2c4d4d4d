from __future__ import annotations

import numpy as np
import pytest

from pricing.hedonic.counts import count_days, count_levels, count_numbers, count_words
from tests.market import table_of, words

RNG = np.random.default_rng(4)
COLUMNS = {
    "rounded": np.round(RNG.lognormal(3, 1, 5_003), 0),
    "continuous": RNG.normal(1e4, 3, 4_999),
    "blanks": np.where(RNG.random(2_000) < 0.3, np.nan, RNG.integers(0, 5, 2_000)),
    "single": np.array([7.5]),
}


@pytest.mark.parametrize("name", COLUMNS)
def test_mean_deviation_and_quantiles_are_those_of_all_the_rows(name: str) -> None:
    values = COLUMNS[name]
    stated, counts = values[np.isfinite(values)], count_numbers(values)
    shares = np.linspace(0, 1, 23)
    assert counts.quantiles(shares) == pytest.approx(np.quantile(stated, shares), rel=1e-12, abs=0)
    assert counts.mean(counts.values) == pytest.approx(stated.mean(), rel=1e-12)
    assert counts.variance(counts.values) ** 0.5 == pytest.approx(stated.std(), rel=1e-12, abs=1e-12)
    assert (counts.stated, counts.blanks) == (len(stated), len(values) - len(stated))


@pytest.mark.parametrize("name", COLUMNS)
def test_counts_of_parts_add_up_to_those_of_the_whole(name: str) -> None:
    whole, cuts = COLUMNS[name], [0, 0, 1, 700, 1_500]
    parts = [count_numbers(whole[start:stop]) for start, stop in zip(cuts, [*cuts[1:], None], strict=True)]
    total = parts[0]
    for part in parts[1:]:
        total = total.plus(part)
    once = count_numbers(whole)
    assert np.array_equal(total.values, once.values)
    assert np.array_equal(total.counts, once.counts)
    assert total.blanks == once.blanks


def test_a_function_of_the_values_keeps_their_counts() -> None:
    counts = count_numbers(np.array([4.0, 1.0, 4.0]))
    roots = counts.at(np.sqrt(counts.values))
    assert roots.mean(roots.values) == pytest.approx(5 / 3)
    assert roots.quantiles(np.array([0.25])).tolist() == [1.5]


def test_words_are_counted_and_those_of_no_row_left_out() -> None:
    column = words("dead", None, "works", "works").take(np.array([1, 2, 3]))
    counts = count_words({"wifi": column})["wifi"]
    assert (counts.words, counts.blanks) == ({"works": 2}, 1)
    both = counts.plus(count_words({"wifi": words("dead", "works")})["wifi"])
    assert (both.words, both.blanks) == ({"works": 3, "dead": 1}, 1)


def test_levels_are_counted_with_their_parents_and_a_missing_column_states_nothing() -> None:
    table = table_of(3, texts={"brand": ["Onda", "Onda", None], "model": ["N1", "N1", "N1"]})
    counts = count_levels(("brand", "model"), table)
    assert counts.levels == {("Onda", "N1"): 2, (None, "N1"): 1}
    assert count_levels(("maker",), table).levels == {(None,): 3}
    assert count_levels(("brand",), table_of(0)).levels == {}
    assert counts.plus(counts).levels == {("Onda", "N1"): 4, (None, "N1"): 2}


def test_days_keep_their_span_and_an_undated_part_changes_only_the_blanks() -> None:
    days = np.array(["2026-03-01", "NaT", "2026-01-05"], dtype="datetime64[D]")
    dated, silent = count_days(days, 3), count_days(None, 2)
    assert (dated.last - dated.first, dated.dated, dated.blanks) == (55, 2, 1)
    both = silent.plus(dated)
    assert (both.first, both.last, both.dated, both.blanks) == (dated.first, dated.last, 2, 3)
