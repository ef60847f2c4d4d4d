"""The demo sales: the same seed gives the same bytes, and what is true of them can be recovered."""

from __future__ import annotations

import functools
from datetime import date

import numpy as np
import pytest

from data.demo.brands import BRANDS, OBSCURE_BRAND
from data.demo.generate import CLASSES, DemoData, generate, make_truth, write_csv
from data.demo.value import faults_log, has_word, is_blocked, is_for_parts, required_by, true_spread_log
from pricing.errors import NotFound
from pricing.records.sales_table import TextColumn

SMALL = {"phone": 400, "laptop": 300, "console": 300}


@pytest.fixture(scope="module")
def demo() -> DemoData:
    return generate(7)


def fault_column(demo: DemoData, name: str, function: str, status: str) -> np.ndarray:
    """Where the true state of a class's units shows a status that counts."""
    faults = demo.complete[name].faults
    shown = has_word(faults[function], status)
    return shown & ~is_blocked(demo.device_classes[name], faults, function)


def test_the_same_seed_gives_the_same_bytes(tmp_path):
    written = []
    for place in ("first", "second"):
        data = generate(3, rows=SMALL)
        for name, table in data.tables.items():
            path = tmp_path / f"{place}-{name}.csv"
            write_csv(table, data.device_classes[name], path)
            written.append(path.read_bytes())
    assert written[:3] == written[3:]


def test_another_seed_gives_other_sales():
    assert not np.array_equal(
        generate(3, rows={"phone": 50}).tables["phone"].price,
        generate(4, rows={"phone": 50}).tables["phone"].price,
    )


def test_there_are_enough_sales_brands_and_years(demo):
    assert sum(table.rows for table in demo.tables.values()) >= 6000
    assert set(demo.tables) == {"phone", "laptop", "console"}
    brands = {brand for known in BRANDS.values() for brand in known}
    assert len(brands) == 14
    for brand in brands:
        assert 3 <= sum(known[brand][2] for known in BRANDS.values() if brand in known) <= 12
    days = demo.tables["phone"].condition.sold_on
    assert days.min() >= np.datetime64(date(2023, 7, 1))
    assert days.max() <= np.datetime64(date(2026, 6, 30))
    assert (days.max() - days.min()).astype(int) > 3 * 365 - 10


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_the_obscure_brand_has_exactly_three_sales(seed):
    brand = generate(seed, rows={"phone": 300}).tables["phone"].condition.texts["brand"]
    assert has_word(brand, OBSCURE_BRAND).sum() == 3


@pytest.mark.parametrize("name", list(CLASSES))
def test_half_of_the_fault_cells_are_blank_whatever_they_hide(demo, name):
    told, true = demo.tables[name].condition.faults, demo.complete[name].faults
    described = demo.device_classes[name]
    needed = {other for function in told for other in required_by(described, function)}
    hidden = np.concatenate([column.codes < 0 for function, column in told.items() if function not in needed])
    states = [true[function] for function in told if function not in needed]
    faulty = np.concatenate([~has_word(column, "works", "not fitted") for column in states])
    assert abs(hidden.mean() - 0.5) < 0.01
    assert abs(hidden[faulty].mean() - hidden[~faulty].mean()) < 4 * np.sqrt(0.25 / faulty.sum())


def test_no_seller_is_silent_about_a_dead_function_that_others_need(demo):
    for name, table in demo.tables.items():
        dead = has_word(demo.complete[name].faults["power_on"], "dead")
        assert dead.sum() > 20
        assert has_word(table.condition.faults["power_on"], "dead")[dead].all()


def test_exactly_three_faults_have_no_effect(demo):
    assert len(demo.truth.zero_effects) == 3
    for name, function, status in demo.truth.zero_effects:
        assert demo.truth.fault_effect_log(name, function, status) == 0.0
        assert [fault for fault, _ in demo.truth.fault_pairs(name)].count(function) == 1


@pytest.mark.parametrize("name", list(CLASSES))
def test_untested_lies_between_works_and_the_worst_status(demo, name):
    for fault in CLASSES[name].faults:
        effects = {status: effect for status, (effect, _) in fault.states.items()}
        if len(effects) > 1 and "untested" in effects:
            assert min(effects.values()) < effects["untested"] < 0.0


@pytest.mark.parametrize("name", list(CLASSES))
def test_nearly_every_fault_is_shown_by_thirty_sales(demo, name):
    pairs = demo.truth.fault_pairs(name)
    faults = demo.tables[name].condition.faults
    counts = [has_word(faults[function], status).sum() for function, status in pairs]
    assert 12 <= len(faults) <= 16
    assert np.mean(np.array(counts) >= 30) > 0.85


@pytest.mark.parametrize("name", list(CLASSES))
def test_least_squares_on_the_true_states_recovers_every_fault(demo, name):
    """Rows with several faults are left out: there the larger one takes part of the smaller one's effect."""
    pairs = demo.truth.fault_pairs(name)
    shown = np.column_stack([fault_column(demo, name, *pair) for pair in pairs]).astype(float)
    rows = (shown.sum(axis=1) <= 1) & ~is_for_parts(demo.complete[name])
    effects = np.array([demo.truth.fault_effect_log(name, *pair) for pair in pairs])
    rest = demo.median_log[name] - shown @ effects
    scale = true_spread_log(demo.truth, demo.device_classes[name], demo.complete[name])
    response = (np.log(demo.tables[name].price) - rest)[rows] / scale[rows]
    design = shown[rows] / scale[rows, None]
    inverse = np.linalg.inv(design.T @ design)
    distance = (inverse @ design.T @ response - effects) / np.sqrt(np.diag(inverse))
    assert np.abs(distance).max() < 4.0
    assert 0.6 < np.sqrt(np.mean(distance**2)) < 1.5


def one_unit(**statuses: str) -> dict[str, TextColumn]:
    return {function: TextColumn.from_words([status]) for function, status in statuses.items()}


def test_of_several_faults_the_largest_counts_in_full_and_the_others_in_part(demo):
    effect = functools.partial(demo.truth.fault_effect_log, "phone")
    total = faults_log(
        demo.truth, demo.device_classes["phone"], one_unit(camera_main="dead", nfc="dead", proximity="works")
    )
    assert total[0] == pytest.approx(effect("camera_main", "dead") + 0.85 * effect("nfc", "dead"))


def test_a_fault_behind_a_dead_function_counts_nothing(demo):
    total = faults_log(demo.truth, demo.device_classes["phone"], one_unit(power_on="dead", nfc="dead"))
    assert total[0] == pytest.approx(demo.truth.fault_effect_log("phone", "power_on", "dead"))


def test_fresh_sales_of_the_same_truth_scatter_as_stated(demo):
    fresh = generate(99, rows={"laptop": 4000}, truth=demo.truth)
    gap = np.log(fresh.tables["laptop"].price) - fresh.median_log["laptop"]
    score = gap / true_spread_log(demo.truth, fresh.device_classes["laptop"], fresh.complete["laptop"])
    assert abs(score.mean()) < 4 / np.sqrt(len(score))
    assert abs(score.std() - 1) < 4 / np.sqrt(2 * len(score))


def test_redrawn_brands_differ_by_seed_and_follow_the_stated_spread():
    effects = []
    for seed in range(40):
        truth = make_truth(seed, redraw_brands=True)
        effects += [brand.effect_log for brand in truth.classes["laptop"].brands]
    assert len(set(effects)) == len(effects)
    stated = CLASSES["laptop"].brand_spread_log
    assert abs(np.std(effects) / stated - 1) < 4 / np.sqrt(2 * len(effects))
    assert make_truth(1).brand_effect_log("laptop", "Ambrisk") == BRANDS["laptop"]["Ambrisk"][0]


def test_prices_fall_by_about_fifteen_percent_a_year():
    truth = make_truth(5)
    years = (truth.last_day - truth.first_day).days / 365.25
    fall = (truth.drift_log * years + truth.walk_log[-1]) / years
    assert abs(np.exp(fall) - 0.85) < 0.06


def test_a_name_that_the_demo_lacks_is_refused(demo):
    with pytest.raises(NotFound, match="no fault camera_wide=impaired"):
        demo.truth.fault_effect_log("phone", "camera_wide", "impaired")
    with pytest.raises(NotFound, match="kettle"):
        generate(1, rows={"kettle": 5})


@pytest.mark.parametrize("name", list(CLASSES))
def test_every_demo_column_is_described_by_its_class(demo, name):
    described, told = demo.device_classes[name], demo.tables[name].condition
    assert set(told.faults) <= set(described.functions_by_name)
    assert set(told.marks) <= set(described.surfaces_by_name)
    assert set(told.parts) <= set(described.parts_by_name)
    assert set(told.locks) <= set(described.locks_by_name)
    assert set(told.numbers) - {"battery_share"} <= set(described.attributes_by_name)
    for attribute in described.attributes:
        if attribute.options is not None and attribute.name in told.texts:
            assert set(told.texts[attribute.name].levels) <= set(attribute.options)
