from __future__ import annotations

import numpy as np
import pytest

from pricing.hedonic.blocks import UNPENALISED, BlockBuilder
from pricing.hedonic.counts import combined_levels
from pricing.hedonic.level_term import LevelTerm, level_term
from tests.market import table_of, words

SALES = table_of(6, texts={"brand": ["B", "A", "A", None, "B", "A"], "model": ["x", "x", "y", "x", "x", "x"]})


def term_of(*path: str, **choices: bool) -> LevelTerm:
    term = level_term(path[-1], path, SALES, **choices)
    assert term is not None
    return term


def test_levels_are_sorted_and_counted_and_not_stated_is_one_of_them() -> None:
    term = term_of("brand")
    assert term.levels == ((None,), ("A",), ("B",))
    assert term.sales == (1, 3, 2)


def test_a_nested_level_is_one_value_of_each_on_its_path() -> None:
    term = term_of("brand", "model")
    assert term.levels == ((None, "x"), ("A", "x"), ("A", "y"), ("B", "x"))
    assert term.sales == (1, 2, 1, 2)


def test_each_row_finds_its_level_whatever_order_the_words_come_in() -> None:
    units = table_of(4, texts={"brand": ["A", "B", "Z", None], "model": ["y", "y", "x", "x"]})
    assert term_of("brand").numbers(units).tolist() == [1, 2, -1, 0]
    assert term_of("brand", "model").numbers(units).tolist() == [2, -1, -1, 0]
    assert term_of("brand", "model").sales_of(units).tolist() == [1, 0, 0, 1]


def test_a_level_that_no_sale_had_is_unseen_and_has_no_column() -> None:
    piece = term_of("brand").piece(table_of(2, texts={"brand": ["Z", "A"]}))
    assert piece.places.tolist() == [[-1], [1]]
    assert piece.unseen.tolist() == [[1.0], [0.0]]


def test_silence_where_every_sale_spoke_is_unseen_unless_the_term_is_averaged() -> None:
    silent = table_of(1, texts={"model": [None]})
    assert term_of("model").piece(silent).unseen.tolist() == [[1.0]]
    averaged = term_of("model", averaged=True)
    assert averaged.piece(silent).unseen.tolist() == [[0.0]]
    assert averaged.piece(table_of(1)).unseen.tolist() == [[0.0]]
    assert averaged.piece(table_of(1, texts={"model": ["new"]})).unseen.tolist() == [[1.0]]


def test_a_reference_level_has_no_column_and_the_others_are_free() -> None:
    term = term_of("brand", reference=True)
    assert term.hot_columns == 2
    assert term.piece(SALES).places.ravel().tolist() == [1, 0, 0, -1, 1, 0]
    builder = BlockBuilder(2)
    term.describe(builder, 0, 0)
    assert builder.build().block_of.tolist() == [UNPENALISED] * 2


def test_levels_share_one_variance() -> None:
    builder = BlockBuilder(3)
    term_of("brand").describe(builder, 0, 0)
    table = builder.build()
    assert table.block_of.tolist() == [0, 0, 0]
    assert table.names == ("brand=not stated", "brand=A", "brand=B")


def test_sales_that_are_all_alike_have_no_term() -> None:
    assert level_term("brand", ("brand",), table_of(3, texts={"brand": ["A"] * 3})) is None
    assert level_term("brand", ("brand",), table_of(3)) is None


def test_combinations_are_found_for_any_columns() -> None:
    codes, found = combined_levels([words("b", "a", "b"), None, words("x", None, "x")], 3)
    assert [found[code] for code in codes] == [("b", None, "x"), ("a", None, None), ("b", None, "x")]
    assert len(found) == 2


def test_very_many_combinations_are_found_as_few_are() -> None:
    many = [f"w{number:04d}" for number in range(1200)]
    order = np.random.default_rng(0).permutation(1200)
    sales = table_of(1200, texts={"brand": many, "model": [many[number] for number in order]})
    term = level_term("model", ("brand", "model"), sales)
    assert term is not None
    assert term.numbers(sales) == pytest.approx(np.arange(1200))
