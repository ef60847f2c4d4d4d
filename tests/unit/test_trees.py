"""What trees see of a unit, and how members' corrections are averaged."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pricing.hedonic.design import Design, learn_design
from pricing.hedonic.growing import grow
from pricing.hedonic.summary import summarise
from pricing.hedonic.trees import TreeInputs, Trees, averaged_correction, tree_inputs
from pricing.records.device_class import Attribute, DeviceClass
from pricing.records.sales_table import TextColumn
from tests.builders import small_class
from tests.market import small_sales, table_of

SALES = small_sales(300, seed=1)


def design_of(of: DeviceClass) -> Design:
    return learn_design(summarise(SALES, of), of)


def effects_of(design: Design) -> np.ndarray:
    return np.random.default_rng(0).normal(size=design.columns)


def inputs_of(design: Design, effects: np.ndarray) -> TreeInputs:
    return tree_inputs(design, small_class().attributes_by_name, effects)


@pytest.fixture(scope="module")
def design() -> Design:
    return design_of(small_class())


@pytest.fixture(scope="module")
def trees(design: Design) -> Trees:
    inputs = inputs_of(design, effects_of(design))
    columns = inputs.columns(design, SALES.condition)
    residuals = np.sin(3 * columns[:, 2]) * np.log(columns[:, 0] / 150)
    return grow(columns, inputs, residuals, np.ones(SALES.rows))


def level_effect(design: Design, effects: np.ndarray, name: str, *words: str) -> float:
    number = [term.name for term in design.terms].index(name)
    level = design.terms[number].levels.index(words)  # type: ignore[union-attr]
    return float(effects[design.places[number].hot + level])


def test_levels_are_coded_by_their_effects_and_those_of_their_parents(design: Design) -> None:
    effects = effects_of(design)
    inputs = inputs_of(design, effects)
    assert inputs.numbers == ("storage_gb",)
    assert [design.terms[number].name for number in inputs.terms] == ["brand", "model"]
    assert inputs.width == 3
    units = table_of(2, numbers={"storage_gb": [64.0, np.nan]},
                     texts={"brand": ["Onda", "Tessa"], "model": ["N2", "N0"]})  # fmt: skip
    found = inputs.columns(design, units)
    for row, (brand, model) in enumerate([("Onda", "N2"), ("Tessa", "N0")]):
        outer = level_effect(design, effects, "brand", brand)
        inner = outer + level_effect(design, effects, "model", brand, model)
        assert found[row, 1:] == pytest.approx([outer, inner])
    assert found[0, 0] == 64.0
    assert np.isnan(found[1, 0])


def test_a_group_told_of_before_its_parent_has_the_same_codes() -> None:
    brand, model, storage = small_class().attributes
    given, turned = (replace_attributes(order) for order in ((brand, model, storage), (model, brand, storage)))
    codes = []
    for each in (given, turned):
        learnt = design_of(each)
        effects = np.zeros(learnt.columns)
        for number, term in enumerate(learnt.terms):
            if term.name in ("brand", "model"):
                columns = learnt.term_columns(number)
                effects[columns] = np.random.default_rng(len(columns)).normal(size=len(columns))
        inputs = tree_inputs(learnt, each.attributes_by_name, effects)
        names = [learnt.terms[number].name for number in inputs.terms]
        codes.append(inputs.codes[names.index("model")])
    assert codes[1] == pytest.approx(codes[0])


def replace_attributes(attributes: tuple[Attribute, ...]) -> DeviceClass:
    return small_class().model_copy(update={"attributes": attributes})


def test_a_level_never_seen_is_coded_0_and_a_missing_column_is_not_stated(design: Design) -> None:
    inputs = inputs_of(design, effects_of(design))
    found = inputs.columns(design, table_of(2, texts={"brand": ["Zeta", "Onda"], "model": ["N1", "N9"]}))
    assert found[0, 1:].tolist() == [0.0, 0.0]
    assert found[1, 2] == 0.0
    assert found[1, 1] != 0.0
    assert np.isnan(found[:, 0]).all()


def test_only_attributes_are_seen(design: Design) -> None:
    """No faults, marks, locks, parts, days or channels: the same unit in any state is one to the trees."""
    sound, broken = (table_of(1, numbers={"storage_gb": [64.0], "battery_share": [share]},
                              texts={"brand": ["Onda"], "model": ["N1"], "channel": [channel]},
                              faults={"wifi": [status]}, sold_on=np.array([day], dtype="datetime64[D]"))
                     for share, channel, status, day in ((90.0, "shop", "works", "2025-02-01"),
                                                         (30.0, "fair", "dead", "2025-11-01")))  # fmt: skip
    inputs = inputs_of(design, effects_of(design))
    assert np.array_equal(inputs.columns(design, sound), inputs.columns(design, broken))


def test_names_and_order_of_levels_do_not_matter(design: Design, trees: Trees) -> None:
    brand = SALES.condition.texts["brand"]
    turned = TextColumn(len(brand.levels) - 1 - brand.codes, tuple(reversed(brand.levels)))
    other = replace(SALES.condition, texts={**SALES.condition.texts, "brand": turned})
    expected = trees.correction(design, SALES.condition)
    assert np.array_equal(trees.correction(design, other), expected)
    assert np.ptp(expected) > 0.5


def test_a_unit_alone_is_corrected_to_the_last_bit_as_among_many(
    design: Design, trees: Trees, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pricing.hedonic.trees._ROWS_FOR_TABLES", 100)  # few rows are walked, many looked up
    many = SALES.condition
    together = trees.correction(design, many)
    for row in range(0, many.rows, 11):
        assert trees.correction(design, many.take(np.array([row])))[0] == together[row]
    assert np.array_equal(trees.correction(design, many.take(np.arange(50))), together[:50])
    assert len(trees.correction(design, many.take(np.empty(0, dtype=np.intp)))) == 0


def test_bounds_hold_the_correction(design: Design, trees: Trees) -> None:
    whole = trees.correction(design, SALES.condition)
    narrow = replace(trees, low=-0.1, high=0.2).correction(design, SALES.condition)
    assert np.array_equal(narrow, np.clip(whole, -0.1, 0.2))
    assert np.any(narrow != whole)


def test_members_are_averaged_with_their_weights_and_one_without_trees_counts_as_0(
    design: Design, trees: Trees
) -> None:
    one, other = trees, replace(trees, value=2 * trees.value, low=-10.0, high=10.0)
    table = SALES.condition
    first, second = one.correction(design, table), other.correction(design, table)
    both = averaged_correction((one, other), (0.5, 0.25), design, table)
    assert both == pytest.approx(0.5 * (0.5 * first + 0.25 * second))
    half = averaged_correction((None, other), (0.0, 0.25), design, table)
    assert half == pytest.approx(0.5 * 0.25 * second)
    assert not averaged_correction((), (0.0,), design, table).any()
