"""Which interactions a design gets, and where its main effects stay."""

from __future__ import annotations

import numpy as np
import pytest

from pricing.hedonic.design import Design, learn_design
from pricing.hedonic.interaction_term import ProductTerm, SlopeTerm
from pricing.hedonic.level_term import LevelTerm
from pricing.hedonic.structure import MAIN_EFFECTS, MOST_COLUMNS, Structure, extended, main_columns
from pricing.hedonic.summary import summarise
from pricing.records.device_class import Attribute, DeviceClass
from pricing.records.sales_table import ConditionTable, SalesTable
from tests.builders import small_class
from tests.market import sales_of, small_sales

TOOL = DeviceClass(name="tool", attributes=(
    Attribute(name="size", kind="number"), Attribute(name="power", kind="number"),
    Attribute(name="age", kind="number", effect="lowers"),
    Attribute(name="maker", kind="group"), Attribute(name="model", kind="group", within="maker"),
    Attribute(name="colour", kind="choice"),
))  # fmt: skip


def tools(rows: int = 120, makers: int = 5, colours: tuple[str, ...] = ("blue", "red", "green")) -> SalesTable:
    rng = np.random.default_rng(3)
    texts = {
        "maker": [f"M{each}" for each in rng.integers(0, makers, rows)],
        "model": [f"X{each}" for each in rng.integers(0, 2, rows)],
        "colour": rng.choice(colours, rows).tolist(),
    }
    numbers = {name: rng.uniform(1, 5, rows) for name in ("size", "power", "age", "battery_share")}
    return sales_of(np.exp(rng.normal(size=rows)).tolist(), numbers=numbers, texts=texts)


def both_designs(sales: SalesTable, of: DeviceClass = TOOL) -> tuple[Design, Design]:
    main = learn_design(summarise(sales, of), of)
    return main, extended(main, of, sales.condition)


def added_to(main: Design, full: Design) -> dict[str, object]:
    return {term.name: term for term in full.terms[len(main.terms) :]}


def dense(design: Design, table: ConditionTable) -> np.ndarray:
    return np.asarray(design.rows(table).to_dense())


def test_products_slopes_and_pairs_of_attributes_are_added_at_the_end() -> None:
    main, full = both_designs(tools())
    assert full.terms[: len(main.terms)] == main.terms
    added = added_to(main, full)
    assert list(added) == ["products", "colour slopes", "maker slopes", "maker × colour"]
    products, slopes, pairs = added["products"], added["maker slopes"], added["maker × colour"]
    assert isinstance(products, ProductTerm)
    assert products.pairs == ((0, 1),)  # of size and power: age has a direction, the battery is no attribute
    assert isinstance(slopes, SlopeTerm)
    assert [number.name for number in slopes.numbers] == ["size", "power"]
    assert isinstance(pairs, LevelTerm)
    assert pairs.path == ("maker", "colour")


@pytest.mark.parametrize(("sales", "of"), [(tools(), TOOL), (small_sales(), small_class())], ids=["tool", "talker"])
def test_main_columns_are_where_the_extended_design_has_the_main_effects(sales: SalesTable, of: DeviceClass) -> None:
    main, full = both_designs(sales, of)
    columns = main_columns(full, main)
    assert full.columns > main.columns == len(set(columns.tolist()))
    assert np.array_equal(dense(full, sales.condition)[:, columns], dense(main, sales.condition))
    # The others are no empty columns.
    others = np.setdiff1d(np.arange(full.columns), columns)
    rows = dense(full, sales.condition)
    assert np.any(rows[:, others] != 0, axis=0).all()
    assert np.array_equal(main_columns(main, main), np.arange(main.columns))


def test_blocks_of_the_main_effects_stay_the_same_coefficients() -> None:
    main, full = both_designs(small_sales(), small_class())
    columns = main_columns(full, main)
    inner, outer = main.block_table(), full.block_table()
    count = len(inner.names)
    assert outer.names[:count] == inner.names
    assert [block.name for block in outer.blocks[: len(inner.blocks)]] == [block.name for block in inner.blocks]
    assert np.array_equal(outer.to_raw.toarray()[np.ix_(columns, range(count))], inner.to_raw.toarray())


def test_a_design_without_anything_to_join_stays_itself() -> None:
    lone = DeviceClass(name="tool", attributes=(Attribute(name="size", kind="number"),))
    main, full = both_designs(tools(), lone)
    assert full is main


def test_slopes_and_pairs_that_would_take_too_many_columns_are_left_out_the_largest_first() -> None:
    makers = MOST_COLUMNS // 2 + 1
    main, full = both_designs(tools(2500, makers=makers))
    added = added_to(main, full)
    assert list(added) == ["products", "colour slopes"]
    fewer, fuller = both_designs(tools(1000, makers=MOST_COLUMNS // 2 - 3, colours=("blue", "red")))
    levels = len(next(term for term in fewer.terms if term.name == "maker").levels)  # type: ignore[union-attr]
    assert 2 * levels + 4 <= MOST_COLUMNS
    assert list(added_to(fewer, fuller))[:3] == ["products", "colour slopes", "maker slopes"]


def test_a_nested_group_takes_no_part() -> None:
    main, full = both_designs(tools())
    assert not any("model" in name for name in added_to(main, full))


def test_a_structure_says_itself_in_words() -> None:
    assert MAIN_EFFECTS.words == "main effects"
    assert Structure(trees_weights=(0.25,)).words == "main effects; corrected by trees, with weight 0.25"
    averaged = Structure(interactions=True, trees_weights=(0.0, 0.5)).words
    assert "averaged with those and products, slopes and pairs" in averaged
    assert averaged.endswith("with weight 0 and 0.5")
