from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from pricing.estimation.card_effects import MOST_LEVELS, effects_of
from pricing.estimation.explain import reference_table
from pricing.estimation.what_if import change_interval_log
from pricing.hedonic.fit import fit_model
from pricing.hedonic.model import PriceModel
from pricing.records.model_card import CardEffect
from pricing.records.sales_table import ConditionTable, SalesTable
from tests.builders import small_class
from tests.market import BRANDS, small_sales, with_condition, words

STATES = ("faults", "marks", "locks", "parts")


@pytest.fixture(scope="module")
def effects(model: PriceModel, sales: SalesTable) -> dict[str, CardEffect]:
    return {effect.label: effect for effect in effects_of(model, sales)}


def typical(model: PriceModel) -> ConditionTable:
    return reference_table(model, model.dated(ConditionTable(rows=1), None)).take(np.zeros(2, dtype=np.intp))


@pytest.mark.parametrize(
    ("label", "field", "name", "word"),
    [
        ("main camera dead", "faults", "camera_main", "dead"),
        ("ultra-wide camera untested", "faults", "camera_wide", "untested"),
        ("crack on screen glass", "marks", "screen", "crack"),
        ("owner's account lock locked", "locks", "owner_account", "locked"),
        ("third-party screen", "parts", "screen", "third-party"),
        ("contactless payment removed", "faults", "nfc", "removed"),
    ],
)
def test_a_state_does_what_a_what_if_of_the_typical_unit_says(model, effects, label, field, name, word):
    pair = typical(model)
    column = getattr(pair, field)[name]
    pair = replace(pair, **{field: {**getattr(pair, field), name: words(column.word(0), word)}})
    low, high = change_interval_log(model, pair)
    before, after = model.estimate(model.predict(pair))
    found = effects[label]
    assert found.percent == pytest.approx(100 * (after / before - 1), abs=1e-9)
    assert (found.low_95, found.high_95) == pytest.approx((100 * np.expm1(low), 100 * np.expm1(high)), abs=1e-9)
    assert float(found.price.amount) == pytest.approx(after, abs=0.006)


def test_no_state_raises_the_price_and_each_lies_in_its_interval(effects):
    for effect in effects.values():
        assert effect.low_95 <= effect.percent <= effect.high_95
        if effect.kind in STATES:
            assert effect.high_95 <= 1e-9


def test_sales_are_counted_and_what_no_sale_had_comes_last(effects, sales):
    column = sales.condition.faults["camera_main"]
    dead = Counter(column.word(row) for row in range(sales.rows))["dead"]
    assert effects["main camera dead"].sales == dead > 0
    assert effects["contactless payment removed"].sales == 0
    unsold = [effect.sales == 0 for effect in effects.values() if effect.kind in STATES]
    assert unsold == sorted(unsold)
    heaviest = [effect.percent for effect in effects.values() if effect.kind in STATES and effect.sales]
    assert heaviest == sorted(heaviest)


def test_a_quiet_state_of_what_no_sale_mentions_is_not_listed(effects):
    assert "contactless payment untested" not in effects
    assert "contactless payment dead" in effects


def test_numbers_are_told_at_their_lowest_median_and_highest(model, sales, effects):
    storage = [effect for effect in effects.values() if effect.name == "storage_gb"]
    stated = sales.condition.numbers["storage_gb"]
    values = (stated.min(), np.median(stated), stated.max())
    places = zip(values, ("lowest", "median", "highest"), strict=True)
    assert [effect.label for effect in storage] == [f"storage {value:g} GB ({word})" for value, word in places]
    table = replace(typical(model).take(np.zeros(3, dtype=np.intp)), numbers={"storage_gb": np.array(values)})
    prices = model.estimate(model.predict(table))
    assert [effect.percent for effect in storage] == pytest.approx(100 * (prices / prices[1] - 1), abs=1e-9)
    assert [float(effect.price.amount) for effect in storage] == pytest.approx(prices, abs=0.006)
    assert storage[1].low_95 == storage[1].high_95 == 0


def test_a_number_that_some_sales_leave_blank_has_a_row_for_that():
    sales = small_sales(160)
    storage = np.where(np.arange(160) < 40, np.nan, sales.condition.numbers["storage_gb"])
    blank = with_condition(sales, numbers={"storage_gb": storage})
    model = fit_model(blank, small_class())
    found = {effect.label: effect.sales for effect in effects_of(model, blank)}
    assert found["storage not stated"] == 40
    assert found[next(label for label in found if label.endswith("(median)"))] == 120
    assert "storage not stated" in {effect.label for effect in effects_of(model)}


def test_levels_are_against_the_average_sale_beside_them(effects):
    brands = [effect for effect in effects.values() if effect.name == "brand"]
    assert {effect.label for effect in brands} == {f"brand {name}" for name in BRANDS}
    logs = np.log1p([effect.percent / 100 for effect in brands])
    assert float(logs @ [effect.sales for effect in brands]) == pytest.approx(0.0, abs=1e-9)
    dearest = max(brands, key=lambda effect: effect.percent)
    assert dearest.label == "brand Onda"  # the market gives it 0.3 more on the log of price
    models = [effect for effect in effects.values() if effect.name == "model"]
    assert len(models) == MOST_LEVELS
    of_onda = [effect for effect in models if effect.label.startswith("model Onda ")]
    logs = np.log1p([effect.percent / 100 for effect in of_onda])
    assert float(logs @ [effect.sales for effect in of_onda]) == pytest.approx(0.0, abs=1e-9)


def test_asking_and_a_year_are_told_as_the_market_was_made(effects, model):
    assert effects["asked instead of paid"].low_95 < 100 * np.expm1(0.1) < effects["asked instead of paid"].high_95
    assert effects["asked instead of paid"].sales == model.rows - model.sold_rows
    assert effects["a year later"].low_95 < 100 * np.expm1(-0.15) < effects["a year later"].high_95
