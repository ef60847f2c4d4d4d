from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from pricing.hedonic.blocks import UNPENALISED, BlockBuilder
from pricing.hedonic.counts import count_days
from pricing.hedonic.time_term import DAYS_A_MONTH, DAYS_A_YEAR, TimeTerm, time_term
from tests.market import table_of

LAST = np.datetime64("2026-06-30", "D")


def days_before(*counts: float | None) -> np.ndarray:
    return np.array([np.datetime64("NaT", "D") if n is None else LAST - np.timedelta64(int(n), "D") for n in counts])


def term_of(counts: Sequence[float | None]) -> TimeTerm:
    term = time_term(count_days(days_before(*counts), len(counts)))
    assert term is not None
    return term


def test_undated_sales_or_sales_of_one_day_have_no_term() -> None:
    assert time_term(count_days(None, 4)) is None
    assert time_term(count_days(days_before(3, 3, 3, 3), 4)) is None
    assert time_term(count_days(days_before(0, 400, None), 3)) is None  # two dated sales are too few


def test_the_drift_counts_years_from_the_last_sale() -> None:
    piece = term_of([0, 100, 700]).piece(table_of(3, sold_on=days_before(0, 365, -365)))
    assert piece.dense.ravel() == pytest.approx(np.array([0, -365, 365]) / DAYS_A_YEAR)


def test_months_are_counted_back_from_the_last_sale_and_stop_at_the_first() -> None:
    term = term_of([0, 200, 400])
    places = term.piece(table_of(4, sold_on=days_before(0, 31, 400, 4000))).places.ravel()
    assert places.tolist() == [0, 1, 13, 13]


def test_few_months_leave_the_drift_alone() -> None:
    term = term_of([0, 40, 90])
    assert term.months == 0
    assert term.piece(table_of(1, sold_on=days_before(40))).places.tolist() == [[-1]]


def test_days_beyond_the_last_sale_add_the_walks_variance_month_by_month() -> None:
    later = term_of([0, 200, 400]).piece(table_of(3, sold_on=days_before(0, -30, -365)))
    assert (later.unseen.ravel() ** 2) == pytest.approx(np.array([0, 30, 365]) / DAYS_A_MONTH)


def test_a_sale_without_a_day_has_a_level_of_its_own() -> None:
    term = term_of([0, 200, 400, None])
    piece = term.piece(table_of(2, sold_on=days_before(None, 0)))
    assert piece.places.ravel().tolist() == [term.months, 0]
    assert piece.dense[0, 0] == 0.0
    assert term.hot_columns == term.months + 1


def test_each_step_of_the_walk_moves_all_earlier_months() -> None:
    term = term_of([0, 100, 200])
    builder = BlockBuilder(1 + term.months)
    term.describe(builder, 0, 1)
    table = builder.build()
    assert table.block_of.tolist() == [UNPENALISED] + [0] * (term.months - 1)
    assert table.to_raw.toarray()[1:, 1:].tolist() == np.tri(term.months, term.months - 1, -1).tolist()
