from __future__ import annotations

import numpy as np
import pytest

from pricing.hedonic.blocks import UNPENALISED, BlockBuilder
from pricing.hedonic.counts import count_numbers
from pricing.hedonic.number_term import NumberTerm, number_term
from tests.market import table_of

VALUES = np.random.default_rng(0).uniform(2.0, 30.0, 80)


def term_of(values: np.ndarray = VALUES, **choices: object) -> NumberTerm:
    term = number_term("size", count_numbers(values), **choices)  # type: ignore[arg-type]
    assert term is not None
    return term


def test_columns_are_centred_over_the_sales_and_the_straight_one_is_scaled() -> None:
    dense = term_of().piece(table_of(80, numbers={"size": VALUES})).dense
    assert dense.mean(axis=0) == pytest.approx(np.zeros(dense.shape[1]), abs=1e-10)
    assert dense[:, 0].std() == pytest.approx(1.0)
    assert dense[:, 1:].var(axis=0).mean() == pytest.approx(1.0)


@pytest.mark.parametrize("log", [False, True])
def test_another_unit_of_the_number_gives_the_same_columns(log: bool) -> None:
    first = term_of(log=log).piece(table_of(80, numbers={"size": VALUES})).dense
    other = term_of(1024 * VALUES, log=log).piece(table_of(80, numbers={"size": 1024 * VALUES})).dense
    assert other == pytest.approx(first, abs=1e-9)


def test_every_column_is_straight_beyond_the_sales() -> None:
    beyond = np.linspace(30.0, 60.0, 7)
    dense = term_of().piece(table_of(7, numbers={"size": beyond})).dense
    assert np.abs(np.diff(dense, n=2, axis=0)).max() < 1e-10


def test_slopes_are_the_derivatives_of_the_columns() -> None:
    term, step = term_of(), 1e-5
    points = np.array([-2.5, -1.0, 0.2, 1.4, 3.0])
    ends = [
        term.piece(table_of(5, numbers={"size": term.centre + term.spread * (points + move)})).dense
        for move in (step, -step)
    ]
    assert term.slopes(points) == pytest.approx((ends[0] - ends[1]) / (2 * step), abs=1e-6)


def test_a_number_that_never_varies_or_is_never_stated_has_no_term() -> None:
    assert number_term("size", count_numbers(np.full(9, 3.0))) is None
    assert number_term("size", count_numbers(np.full(9, np.nan))) is None
    assert number_term("size", count_numbers(np.full(9, 3.0) * (1 + 1e-15 * np.arange(9)))) is None


def test_a_blank_sits_at_the_centre_with_a_level_of_its_own() -> None:
    term = term_of(np.append(VALUES, np.nan))
    piece = term.piece(table_of(2, numbers={"size": [np.nan, VALUES[0]]}))
    assert piece.dense[0].tolist() == [0.0] * term.dense_columns
    assert piece.places.tolist() == [[0], [-1]]
    assert np.array_equal(piece.dense[0], term.piece(table_of(1)).dense[0])


def test_sales_without_blanks_leave_no_level_for_them() -> None:
    term = term_of()
    assert term.hot_columns == 0
    assert term.piece(table_of(3)).places.shape == (3, 0)


def test_two_values_or_no_penalties_leave_the_number_straight() -> None:
    assert term_of(np.array([1.0, 2.0, 2.0])).dense_columns == 1
    assert term_of(bends=False).dense_columns == 1
    assert term_of(bends=False).slopes(np.array([0.0, 9.0])).tolist() == [[1.0], [1.0]]
    assert term_of(most_knots=5).dense_columns == 1 + 3


def test_the_straight_column_is_free_and_the_bends_share_one_variance() -> None:
    term = term_of(np.append(VALUES, np.nan))
    builder = BlockBuilder(term.dense_columns + 1)
    term.describe(builder, 0, term.dense_columns)
    table = builder.build()
    assert table.block_of.tolist() == [UNPENALISED, *[0] * (term.dense_columns - 1), 1]
    assert [block.kind for block in table.blocks] == ["free", "pooled"]


def test_how_far_outside_is_counted_in_spans_of_the_sales() -> None:
    term = term_of(np.array([10.0, 15.0, 20.0]))
    table = table_of(5, numbers={"size": [12.0, 25.0, 0.0, 40.0, np.nan]})
    assert term.outside(table) == pytest.approx([0.0, 0.5, 1.0, 2.0, 0.0])
    assert term.outside(table_of(2)).tolist() == [0.0, 0.0]


def test_on_a_log_scale_spans_are_ratios_and_a_number_of_0_is_infinitely_far() -> None:
    term = term_of(np.array([10.0, 20.0, 40.0]), log=True)
    assert term.outside(table_of(3, numbers={"size": [80.0, 160.0, 0.0]})) == pytest.approx([0.5, 1.0, np.inf])
