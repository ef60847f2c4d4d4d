"""Products of numbers, and slopes of numbers within levels."""

from __future__ import annotations

import numpy as np
import pytest

from pricing.hedonic.blocks import LEAST_LAMBDA, BlockBuilder, BlockTable
from pricing.hedonic.counts import count_numbers
from pricing.hedonic.interaction_term import (
    MOST_NUMBERS,
    ProductTerm,
    SlopeTerm,
    free_numbers,
    product_term,
    straight,
)
from pricing.hedonic.level_term import LevelTerm, level_term
from pricing.hedonic.number_term import NumberTerm, number_term
from pricing.records.sales_table import ConditionTable
from tests.market import table_of

COLOURS = ("blue", "green", "red")


def table(rows: int = 90, seed: int = 0) -> ConditionTable:
    rng = np.random.default_rng(seed)
    size = rng.uniform(1, 9, rows)
    size[3] = np.nan
    numbers = {"size": size, "depth": np.exp(rng.normal(size=rows)), "age": rng.uniform(0, 5, rows)}
    return table_of(rows, numbers=numbers, texts={"colour": rng.choice(COLOURS, rows).tolist()})


def term(name: str, units: ConditionTable, **choices: object) -> NumberTerm:
    found = number_term(name, count_numbers(units.numbers[name]), **choices)  # type: ignore[arg-type]
    assert found is not None
    return found


def terms(units: ConditionTable) -> tuple[NumberTerm, ...]:
    return term("size", units), term("depth", units, log=True), term("age", units)


def products(units: ConditionTable) -> ProductTerm:
    found = product_term(terms(units), units)
    assert found is not None
    return found


def slopes(units: ConditionTable) -> SlopeTerm:
    levels = level_term("colour", ("colour",), units)
    assert isinstance(levels, LevelTerm)
    return SlopeTerm(levels, terms(units))


def table_of_blocks(given: ProductTerm | SlopeTerm) -> BlockTable:
    builder = BlockBuilder(1 + given.dense_columns)
    given.describe(builder, 1, 1 + given.dense_columns)
    return builder.build()


def test_a_straight_number_is_standardised_and_0_where_not_stated() -> None:
    units = table()
    for log, name in ((False, "size"), (True, "depth")):
        found = straight(term(name, units, log=log), units)
        values = np.log(units.numbers[name]) if log else units.numbers[name]
        expected = (values - np.nanmean(values)) / np.nanstd(values)
        assert found == pytest.approx(np.nan_to_num(expected), abs=1e-12)
    assert straight(term("size", units), units)[3] == 0.0
    assert straight(term("size", units), table_of(2)).tolist() == [0.0, 0.0]


def test_a_straight_number_is_held_within_the_range_of_the_sales() -> None:
    units = table()
    size, depth = term("size", units), term("depth", units, log=True)
    held = table_of(4, numbers={"size": [-50.0, 50.0, np.inf, size.low], "depth": [0.0, 1e9, 1e-9, depth.high]})
    ends = size.standardised(np.array([size.low, size.high]))
    # Infinity is not a number that anyone states.
    assert straight(size, held).tolist() == [ends[0], ends[1], 0.0, ends[0]]
    low, high = depth.standardised(np.array([depth.low, depth.high]))
    assert straight(depth, held).tolist() == [0.0, high, low, high]


def test_products_are_centred_and_scaled_over_the_sales_and_only_there() -> None:
    units = table()
    found = products(units)
    assert found.pairs == ((0, 1), (0, 2), (1, 2))
    dense = found.piece(units).dense
    assert dense.mean(axis=0) == pytest.approx(np.zeros(3), abs=1e-12)
    assert dense.std(axis=0) == pytest.approx(np.ones(3))
    columns = [straight(each, units) for each in found.numbers]
    assert np.corrcoef(dense[:, 1], columns[0] * columns[2])[0, 1] == pytest.approx(1.0)
    others = found.piece(table(seed=5)).dense
    assert np.abs(others.mean(axis=0)).max() > 1e-3


def test_products_grow_no_further_beyond_the_range_of_the_sales() -> None:
    units = table()
    found = products(units)
    ends = {each.name: np.array([each.high, each.low]) for each in found.numbers}
    beyond = {name: np.array([1e6, 1e-9 if name == "depth" else -1e6]) for name in ends}
    inner, outer = (found.piece(table_of(2, numbers=each)).dense for each in (ends, beyond))
    assert outer == pytest.approx(inner, rel=1e-12)


def test_each_product_has_a_variance_of_its_own_and_a_name_that_says_which() -> None:
    found = products(table())
    described = table_of_blocks(found)
    assert described.names == ("size × depth", "size × age", "depth × age")
    assert [block.name for block in described.blocks] == list(described.names)
    assert [block.least for block in described.blocks] == [LEAST_LAMBDA] * 3
    assert described.block_of.tolist() == [0, 1, 2]
    assert described.to_raw.toarray()[1:].tolist() == np.eye(3).tolist()


def test_numbers_with_a_direction_and_those_after_the_tenth_take_no_part() -> None:
    units = table()
    bound = [term("size", units, effect="raises"), term("depth", units, effect="lowers"), term("age", units)]
    assert [each.name for each in free_numbers(bound)] == ["age"]
    assert product_term(bound, units) is None
    many = [term("age", units)] * (MOST_NUMBERS + 3)
    assert len(free_numbers(many)) == MOST_NUMBERS
    assert free_numbers([]) == ()


def test_a_product_that_never_varies_is_left_out() -> None:
    """Two numbers of which one is always at its mean where the other is not."""
    numbers = {"size": [1.0, -1.0, 0.0, 0.0] * 5, "depth": [0.0, 0.0, 1.0, -1.0] * 5}
    units = table_of(20, numbers=numbers)
    both = term("size", units), term("depth", units)
    assert product_term(both, units) is None
    kept = product_term((*both, term("size", units)), units)
    assert kept is not None
    assert kept.pairs == ((0, 2),)


def test_slopes_hold_a_number_in_the_column_of_its_level_only() -> None:
    units = table()
    found = slopes(units)
    dense = found.piece(units).dense
    assert found.dense_columns == dense.shape[1] == 9
    columns = [straight(each, units) for each in found.numbers]
    places = [COLOURS.index(units.texts["colour"].word(row) or "") for row in range(units.rows)]
    for row in range(units.rows):
        expected = np.zeros((3, 3))
        expected[:, places[row]] = [column[row] for column in columns]
        assert dense[row].tolist() == expected.ravel().tolist()
    names = table_of_blocks(found).names
    assert names[:4] == ("size of blue", "size of green", "size of red", "depth of blue")


def test_slopes_share_one_variance() -> None:
    described = table_of_blocks(slopes(table()))
    assert [(block.name, block.least) for block in described.blocks] == [("colour slopes", LEAST_LAMBDA)]
    assert described.block_of.tolist() == [0] * 9


def test_a_level_never_seen_has_no_slopes_but_the_reach_that_they_might_have() -> None:
    units = table()
    found = slopes(units)
    numbers = {name: values[:4] for name, values in units.numbers.items()}
    fresh = table_of(4, numbers=numbers, texts={"colour": ["mauve", "blue", None, "mauve"]})
    piece = found.piece(fresh)
    assert found.unseen_depths == piece.unseen.shape[1] == 1
    reach = np.sqrt(sum(straight(each, fresh) ** 2 for each in found.numbers))
    # "Not stated" is a level too, and none of these sales had it.
    assert piece.unseen[:, 0] == pytest.approx(np.where([True, False, True, True], reach, 0.0))
    assert reach.min() > 0.1
    assert not piece.dense[[0, 2, 3]].any()
    assert piece.dense[1].any()


def test_neither_kind_has_one_hot_columns_and_products_have_no_levels() -> None:
    units = table()
    for each in (products(units), slopes(units)):
        piece = each.piece(units)
        assert each.hot_columns == 0
        assert piece.places.shape == (units.rows, 0)
    assert products(units).unseen_depths == products(units).piece(units).unseen.shape[1] == 0
