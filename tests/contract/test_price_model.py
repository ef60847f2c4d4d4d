"""What every price model must do, however its sales looked and whatever part of the recipe was left out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from pricing.estimation.estimate import estimate_rows, estimate_unit, estimate_units
from pricing.estimation.explain import explain
from pricing.estimation.what_if import change_interval_log, changed, parse_change, what_if
from pricing.hedonic.fit import CORE, LEAST_SQUARES, FitSettings, fit_model
from pricing.hedonic.model import PriceModel
from pricing.hedonic.model_file import model_from_text, model_to_text
from pricing.records.device_class import Attribute, DeviceClass
from pricing.records.estimate import LEVELS
from pricing.records.sales_table import FloatArray, SalesTable, TextColumn
from pricing.records.unit_columns import columns_of_units
from tests.builders import healthy, small_class, spotless
from tests.market import repriced, small_sales, with_condition

KNOWN = {"brand": "Onda", "model": "N1", "storage_gb": "128"}
UNITS = (
    spotless(attributes=KNOWN),
    spotless(attributes=KNOWN, functions=healthy(wifi="dead", nfc="not fitted"), looked_at=[]),
    spotless(attributes={**KNOWN, "model": "N2"}, marks=[{"surface": "screen", "kind": "crack"}]),
    spotless(attributes={**KNOWN, "brand": "Zeta"}),
    spotless(attributes=KNOWN, functions={}, locks={}),
)


def _plain(sales: SalesTable) -> SalesTable:
    """Return the sales without a word on their condition or day."""
    return with_condition(sales, faults={}, marks={}, parts={}, locks={}, sold_on=None)


def _least_squares(sales: SalesTable) -> PriceModel:
    bare = DeviceClass(name="talker", attributes=(Attribute(name="brand", kind="group"),
                                                  Attribute(name="storage_gb", kind="number")))  # fmt: skip
    return fit_model(_plain(sales), bare, settings=LEAST_SQUARES)


Recipe = tuple[Callable[[SalesTable], SalesTable], FitSettings]
EVERYTHING = FitSettings()
RECIPES: dict[str, Recipe] = {
    "everything": (lambda sales: sales, EVERYTHING),
    "few sales": (lambda sales: sales.take(np.arange(12)), CORE),
    "all asked": (lambda sales: replace(sales, asked=np.ones(sales.rows, dtype=bool)), CORE),
    "undated": (lambda sales: with_condition(sales, sold_on=None), CORE),
    "prices only": (lambda sales: with_condition(_plain(sales), numbers={}, texts={}), CORE),
    "no condition": (_plain, CORE),
    "no currency": (lambda sales: replace(sales, currency=""), CORE),
    "yen": (lambda sales: replace(repriced(sales, 160 * sales.price), currency="JPY"), CORE),
    "even spread": (lambda sales: sales, replace(CORE, spread=False)),
    "student t": (lambda sales: sales, replace(CORE, calibration=False)),
    "without bounds": (lambda sales: sales, replace(CORE, signs=False)),
}
# "everything" is held to these in ``test_every_price_model``, where trees have a tolerance of their own.
SHAPES = [recipe for recipe in RECIPES if recipe != "everything"]


@cache
def shaped(recipe: str) -> SalesTable:
    return RECIPES[recipe][0](small_sales())


def refitted(recipe: str, sales: SalesTable) -> PriceModel:
    return fit_model(sales, small_class(), settings=RECIPES[recipe][1])


@cache
def fitted(recipe: str) -> PriceModel:
    return refitted(recipe, shaped(recipe))


def said_of(model: PriceModel, sales: SalesTable) -> FloatArray:
    """Return what the model says of its own sales in money, shape (rows, 2 + 2 * levels)."""
    prediction = model.predict(model.dated(sales.condition, None))
    bands = [end for level in LEVELS for end in model.interval(prediction, level)]
    return np.column_stack([model.estimate(prediction), model.expected(prediction), *bands])


@pytest.fixture(params=RECIPES)
def each(request: pytest.FixtureRequest) -> PriceModel:
    return fitted(request.param)


def test_every_unit_gets_a_finite_price_inside_growing_intervals(each: PriceModel) -> None:
    for found in estimate_units(each, UNITS, always=True):
        assert found.estimate is not None
        assert found.expected is not None
        assert found.estimate.amount > 0
        assert [interval.level for interval in found.intervals] == list(LEVELS)
        for narrow, wide in pairwise(found.intervals):
            assert wide.low.amount <= narrow.low.amount <= narrow.high.amount <= wide.high.amount


def test_a_unit_alone_and_in_a_batch_gets_the_same(each: PriceModel) -> None:
    assert estimate_units(each, UNITS) == tuple(estimate_unit(each, unit) for unit in UNITS)


def test_it_comes_back_from_its_file_and_says_the_same(each: PriceModel) -> None:
    text = model_to_text(each)
    again = model_from_text(text, "m.json")
    assert model_to_text(again) == text
    assert estimate_units(again, UNITS, always=True) == estimate_units(each, UNITS, always=True)


def test_explanations_rebuild_estimates_to_the_last_minor_unit(each: PriceModel) -> None:
    for unit, found in zip(UNITS, estimate_units(each, UNITS), strict=True):
        if found.abstained is None:
            told = explain(each, unit, sales=small_sales())
            assert told.reference.amount + sum(step.money.amount for step in told.contributions) == told.estimate.amount
            assert told.estimate == found.estimate


@pytest.mark.parametrize("change", ["function:camera_wide=removed", "mark:screen=crack", "lock:owner_account=locked"])
def test_a_change_lies_in_its_own_interval(each: PriceModel, change: str) -> None:
    made = [parse_change(change, small_class())]
    pair = each.dated(changed(columns_of_units(UNITS[:1] * 2, small_class()), 1, made), None)
    low, high = change_interval_log(each, pair)
    before, after = each.predict(pair).mean
    assert low - 1e-12 <= after - before <= high + 1e-12
    if not any(found.abstained for found in estimate_rows(each, pair)):
        found = what_if(each, UNITS[0], made)
        assert found.low_95.amount <= found.change.amount <= found.high_95.amount
        assert found.after.amount - found.before.amount == found.change.amount


def test_its_fingerprint_is_that_of_its_numbers(each: PriceModel) -> None:
    others = {fitted(recipe).fingerprint for recipe in RECIPES if fitted(recipe) is not each}
    assert len(each.fingerprint) == 16
    assert each.fingerprint not in others


def test_what_it_was_not_told_it_says_in_a_notice(each: PriceModel) -> None:
    notices = " ".join(each.notices)
    assert ("no effect of time" in notices) is (each.last_sale is None)
    assert ("only asked" in notices) is each.of_asking_price
    assert ("too few sales to check" in notices) is not all(each.calibration.calibrated)


def test_least_squares_agrees_with_a_plain_solver() -> None:
    sales = small_sales()
    model = _least_squares(sales)
    columns = model.design.rows(sales.condition, sales.asked).to_dense()
    response = np.log(sales.price)
    expected = columns @ np.linalg.lstsq(columns, response, rcond=None)[0]
    assert model.centre + columns @ model.effects == pytest.approx(expected, abs=1e-9)
    assert model.calibration.calibrated == (False,) * len(LEVELS)


@pytest.mark.parametrize("recipe", SHAPES)
def test_permuted_rows_give_the_same_model(recipe: str) -> None:
    sales = shaped(recipe)
    other = refitted(recipe, sales.take(np.random.default_rng(3).permutation(sales.rows)))
    assert said_of(other, sales) == pytest.approx(said_of(fitted(recipe), sales), rel=1e-6)
    assert other.effects == pytest.approx(fitted(recipe).effects, abs=1e-6)


@pytest.mark.parametrize("recipe", SHAPES)
def test_renamed_levels_give_the_same_prices(recipe: str) -> None:
    sales = shaped(recipe)
    texts = {
        name: TextColumn(column.codes, tuple(f"{name} {9 - number}" for number in range(len(column.levels))))
        for name, column in sales.condition.texts.items()
    }
    renamed = with_condition(sales, texts=texts)
    assert said_of(refitted(recipe, renamed), renamed) == pytest.approx(said_of(fitted(recipe), sales), rel=1e-6)


@pytest.mark.parametrize("factor", [0.01, 117.3])
@pytest.mark.parametrize("recipe", SHAPES)
def test_scaled_prices_scale_all_that_is_said(recipe: str, factor: float) -> None:
    sales = shaped(recipe)
    scaled = refitted(recipe, repriced(sales, factor * sales.price))
    assert said_of(scaled, sales) == pytest.approx(factor * said_of(fitted(recipe), sales), rel=1e-6)


@pytest.mark.parametrize("recipe", [recipe for recipe in SHAPES if recipe != "prices only"])
@pytest.mark.parametrize("factor", [1024, 1e-3])
def test_another_unit_of_a_number_changes_nothing(recipe: str, factor: float) -> None:
    sales = shaped(recipe)
    other = with_condition(sales, numbers={"storage_gb": factor * sales.condition.numbers["storage_gb"]})
    assert said_of(refitted(recipe, other), other) == pytest.approx(said_of(fitted(recipe), sales), rel=1e-6)
