from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.errors import Abstained, BadInput
from pricing.estimation.estimate import estimate_unit
from pricing.estimation.what_if import Change, change_interval_log, changed, parse_change, what_if
from pricing.hedonic.fit import fit_model
from pricing.hedonic.model import PriceModel
from pricing.records.sales_table import SalesTable
from pricing.records.unit_columns import columns_of_units
from tests.builders import healthy, small_class, spotless
from tests.counts import count
from tests.market import repriced

KNOWN = {"brand": "Onda", "model": "N1", "storage_gb": "128"}
FAULTY = [
    Change("function", "camera_wide", "removed"),
    Change("function", "wifi", "dead"),
    Change("function", "power_on", "dead"),
    Change("function", "battery_runtime", "impaired"),
    Change("mark", "screen", "crack"),
    Change("mark", "back_panel", "scratch"),
    Change("part", "cell", "third-party"),
    Change("lock", "owner_account", "locked"),
]
UNKNOWN = spotless(attributes=KNOWN, functions={}, looked_at=[], locks={})


def amounts(found) -> tuple[Decimal, Decimal, Decimal]:
    return found.low_95.amount, found.change.amount, found.high_95.amount


@pytest.mark.parametrize("change", FAULTY)
def test_a_fault_lowers_the_estimate_and_its_interval_ends_at_0(model: PriceModel, change: Change) -> None:
    found = what_if(model, spotless(attributes=KNOWN), [change])
    low, middle, high = amounts(found)
    assert low <= middle <= high <= 0
    assert low < 0
    assert found.after.amount - found.before.amount == middle
    assert found.percent == (100 * middle / found.before.amount).quantize(Decimal("0.01"))


@pytest.mark.parametrize("change", [each for each in FAULTY if each.value not in ("removed", "impaired")])
def test_a_fault_lowers_it_also_where_nobody_had_looked(model: PriceModel, change: Change) -> None:
    low, middle, high = amounts(what_if(model, UNKNOWN, [change]))
    assert low <= middle <= high <= 0


def test_a_repair_raises_the_estimate_and_its_interval_starts_at_0(model: PriceModel) -> None:
    broken = spotless(attributes=KNOWN, functions=healthy(wifi="dead"), marks=[{"surface": "screen", "kind": "crack"}])
    repair = [Change("function", "wifi", "works"), Change("mark", "screen", "none")]
    low, middle, high = amounts(what_if(model, broken, repair))
    assert 0 <= low <= middle <= high
    assert middle > 0


def test_to_and_fro_are_the_same_change(model: PriceModel) -> None:
    there = what_if(model, spotless(attributes=KNOWN), [Change("function", "wifi", "dead")])
    broken = spotless(attributes=KNOWN, functions=healthy(wifi="dead"))
    back = what_if(model, broken, [Change("function", "wifi", "works")])
    assert there.change.amount == -back.change.amount
    assert (there.before, there.after) == (back.after, back.before)


def test_no_change_changes_nothing(model: PriceModel) -> None:
    found = what_if(model, spotless(attributes=KNOWN), [Change("function", "wifi", "works")])
    assert amounts(found) == (0, 0, 0)


def test_the_interval_is_of_the_change_and_not_of_the_price(model: PriceModel) -> None:
    found = what_if(model, spotless(attributes=KNOWN), [Change("function", "camera_main", "dead")])
    price = estimate_unit(model, spotless(attributes=KNOWN)).intervals[-1]
    assert found.high_95.amount - found.low_95.amount < price.high.amount - price.low.amount


def test_a_fault_of_which_no_sale_tells_has_a_wider_interval_and_says_so(model: PriceModel) -> None:
    told = what_if(model, spotless(attributes=KNOWN), [Change("function", "loudspeaker", "dead")])
    untold = what_if(model, spotless(attributes=KNOWN), [Change("function", "battery_runtime", "dead")])
    assert untold.high_95.amount - untold.low_95.amount > told.high_95.amount - told.low_95.amount
    assert any("no sale had this: battery run time dead" in reason for reason in untold.reasons)


def test_an_attribute_may_move_the_price_either_way(model: PriceModel) -> None:
    more = what_if(model, spotless(attributes=KNOWN), [Change("attribute", "storage_gb", "512")])
    less = what_if(model, spotless(attributes=KNOWN), [Change("attribute", "storage_gb", "64")])
    assert less.change.amount < 0 < more.change.amount


def test_a_brand_never_seen_has_its_own_uncertainty_in_the_change(model: PriceModel) -> None:
    seen = what_if(model, spotless(attributes=KNOWN), [Change("attribute", "brand", "Tessa")])
    unseen = what_if(model, spotless(attributes=KNOWN), [Change("attribute", "brand", "Zeta")])
    assert unseen.high_95.amount - unseen.low_95.amount > seen.high_95.amount - seen.low_95.amount


def test_a_fault_with_another_unknown_brand_may_move_the_price_either_way(model: PriceModel) -> None:
    unknown = spotless(attributes={**KNOWN, "brand": "Zeta"})
    found = what_if(model, unknown, [Change("attribute", "brand", "Yota"), Change("mark", "screen", "scratch")])
    assert found.low_95.amount < 0 < found.high_95.amount


def test_time_that_both_sides_share_is_no_uncertainty_of_the_change(model: PriceModel) -> None:
    table = columns_of_units([spotless(attributes=KNOWN)] * 2, model.device_class)
    pair = changed(table, 1, [Change("function", "wifi", "dead")])
    assert model.last_sale is not None
    now = change_interval_log(model, model.dated(pair, model.last_sale))
    later = change_interval_log(model, model.dated(pair, model.last_sale + timedelta(days=900)))
    assert later == pytest.approx(now)


def test_a_change_is_made_in_one_row_only(model: PriceModel) -> None:
    table = columns_of_units([spotless(attributes=KNOWN)] * 2, model.device_class)
    pair = changed(table, 1, [Change("attribute", "storage_gb", "64"), Change("mark", "screen", "dent")])
    assert pair.numbers["storage_gb"].tolist() == [128.0, 64.0]
    assert [pair.marks["screen"].word(row) for row in (0, 1)] == ["none", "dent"]
    assert table.numbers["storage_gb"].tolist() == [128.0, 128.0]


def test_where_the_model_abstains_there_is_no_change(model: PriceModel) -> None:
    with pytest.raises(Abstained, match="too far outside"):
        what_if(model, spotless(attributes=KNOWN), [Change("attribute", "storage_gb", "90000")])
    with pytest.raises(BadInput, match="of the class"):
        what_if(model, spotless(attributes=KNOWN).model_copy(update={"device_class": "camera"}), [])


def test_where_sales_contradict_a_bound_the_interval_still_holds_the_change(sales: SalesTable) -> None:
    wide = sales.condition.faults["camera_wide"]
    dead = wide.codes == wide.levels.index("dead")
    dearer = fit_model(repriced(sales, np.where(dead, 1.8, 1.0) * sales.price), small_class())
    table = columns_of_units([spotless(attributes=KNOWN)] * 2, dearer.device_class)
    change = Change("function", "camera_wide", "dead")
    low, high = change_interval_log(dearer, dearer.dated(changed(table, 1, [change]), None))
    assert low <= 0 == high
    low_95, middle, high_95 = amounts(what_if(dearer, spotless(attributes=KNOWN), [change]))
    assert low_95 <= middle <= high_95 <= 0


@settings(max_examples=count(200), deadline=None)
@given(changes=st.lists(st.sampled_from(FAULTY), min_size=1, max_size=4, unique_by=lambda change: change.name))
def test_the_interval_of_any_faults_holds_their_change_and_ends_at_0(
    model: PriceModel, changes: list[Change]
) -> None:
    low, middle, high = amounts(what_if(model, spotless(attributes=KNOWN), changes))
    assert low <= middle <= high <= 0


@pytest.mark.parametrize(
    ("text", "change"),
    [
        ("function:camera_wide=removed", Change("function", "camera_wide", "removed")),
        ("mark: screen = none", Change("mark", "screen", "none")),
        ("part:cell=third-party", Change("part", "cell", "third-party")),
        ("lock:owner_account=locked", Change("lock", "owner_account", "locked")),
        ("attribute:storage_gb=256", Change("attribute", "storage_gb", "256")),
        ("attribute:brand=Any=thing", Change("attribute", "brand", "Any=thing")),
    ],
)
def test_a_change_is_read_from_text(text: str, change: Change) -> None:
    assert parse_change(text, small_class()) == change


@pytest.mark.parametrize(
    "text",
    ["", "wifi=dead", "function:wifi", "function:=dead", "function:wifi=", "colour:wifi=dead", "function:gills=dead",
     "function:wifi=broken", "mark:screen=hole", "part:cell=unknown origin", "lock:owner_account=open",
     "attribute:storage_gb=much", "attribute:storage_gb=nan", "attribute:storage_gb=1e999x", "attribute:colour=red"],
)  # fmt: skip
def test_a_change_that_the_class_does_not_know_is_refused(text: str) -> None:
    with pytest.raises(BadInput) as caught:
        parse_change(text, small_class())
    assert "expected" in str(caught.value)
    assert len(caught.value.problems) == 1


def test_one_defect_for_another_may_move_the_price_either_way(model: PriceModel) -> None:
    table = columns_of_units([spotless(attributes=KNOWN)] * 2, model.device_class)
    here, there = Change("function", "camera_wide", "dead"), Change("function", "nfc", "dead")
    low, high = change_interval_log(model, model.dated(changed(changed(table, 0, [here]), 1, [there]), None))
    assert low < 0 < high
    assert np.isfinite([low, high]).all()
