from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from pricing.errors import Abstained, BadInput
from pricing.estimation.estimate import estimate_unit
from pricing.estimation.explain import MOST_DIFFERENCES, NEAREST, explain, nearest_sales, reference_table
from pricing.hedonic.fit import fit_model
from pricing.hedonic.model import PriceModel
from pricing.records.sales_table import SalesTable
from pricing.records.unit import Unit
from tests.builders import healthy, small_class, spotless
from tests.market import repriced, table_of, with_condition, words

KNOWN = {"brand": "Onda", "model": "N1", "storage_gb": "128"}
WORN = spotless(
    attributes=KNOWN,
    functions=healthy(wifi="dead", camera_wide="removed"),
    marks=[{"surface": "screen", "kind": "crack"}, {"surface": "back_panel", "kind": "dent"}],
    parts=[{"part": "screen", "origin": "third-party"}],
    locks={"owner_account": "locked", "network_lock": "not checked"},
)


@pytest.mark.parametrize("unit", [WORN, spotless(attributes=KNOWN), spotless(attributes={**KNOWN, "brand": "Zeta"})])
def test_contributions_rebuild_the_estimate_to_the_cent(model: PriceModel, unit: Unit) -> None:
    found = explain(model, unit)
    total = found.reference.amount + sum(each.money.amount for each in found.contributions)
    assert total == found.estimate.amount
    assert found.estimate == estimate_unit(model, unit).estimate


def test_what_is_wrong_is_named_one_by_one_in_words(model: PriceModel) -> None:
    told = {each.name: each for each in explain(model, WORN).contributions}
    expected = {
        "faults:wifi": "Wi-Fi dead", "faults:camera_wide": "ultra-wide camera removed",
        "marks:screen": "crack on screen glass", "parts:screen": "third-party screen",
        "locks:owner_account": "owner's account lock locked", "brand": "Onda", "storage_gb": "128",
    }  # fmt: skip
    assert {name: told[name].value for name in expected} == expected
    for name in ("faults:wifi", "faults:camera_wide", "marks:screen", "locks:owner_account"):
        assert told[name].money.amount < 0


def test_what_hangs_on_a_failing_gate_counts_nothing_of_its_own(model: PriceModel) -> None:
    gated = spotless(attributes=KNOWN, functions={"power_on": "dead"})
    told = {each.name: each.value for each in explain(model, gated).contributions}
    assert told["faults:power_on"] == "switching on dead"
    assert told["faults:loudspeaker"] == "loudspeaker untested"
    assert "faults:wifi" not in told


def with_light_gate(model: PriceModel) -> PriceModel:
    """The same model with heavy faults, but one light one: that the unit does not start."""
    term = model.design.faults
    assert term is not None
    effects = model.effects.copy()
    columns = np.array(model.design.term_columns(model.design.terms.index(term)))
    effects[columns[:2]], effects[columns[2:]] = 0.0, -2.0
    gate = term.states.things.index("power_on") * term.states.width
    effects[columns[2 + gate : 2 + gate + term.states.width]] = -0.5
    return replace(model, effects=effects)


def test_a_gate_read_as_failing_is_told_as_it_was_told(model: PriceModel) -> None:
    hanging = dict.fromkeys(("camera_main", "camera_wide", "wifi"), "dead")
    unknown = spotless(attributes=KNOWN, functions=healthy(power_on="untested", **hanging))
    told = {each.name: each.value for each in explain(with_light_gate(model), unknown).contributions}
    assert told["faults:power_on"] == "switching on untested"
    assert "faults:wifi" not in told


def test_contributions_come_in_the_designs_order(model: PriceModel) -> None:
    names = [each.name.partition(":")[0] for each in explain(model, WORN).contributions]
    order = ["brand", "model", "storage_gb", "faults", "marks", "locks", "parts", "time"]
    places = [order.index(name) for name in names if name in order]
    assert places == sorted(places)


def test_the_typical_unit_itself_differs_in_nothing(model: PriceModel) -> None:
    reference = reference_table(model, model.dated(table_of(1), None))
    assert reference.texts["brand"].word(0) is not None
    raw = model.design.rows(reference).to_dense()[0]
    for number, term in enumerate(model.design.terms):
        if term.name in ("faults", "marks", "locks", "parts"):
            assert not raw[model.design.term_columns(number)].any()
    assert model.predict(reference).unseen[0].tolist() == [0.0, 0.0, 0.0]


def test_the_typical_model_is_one_of_the_typical_brand(sales: SalesTable) -> None:
    brand, name = np.resize(["A", "A", "A", "B", "B"], sales.rows), np.resize(["x", "y", "z", "w", "w"], sales.rows)
    found = fit_model(with_condition(sales, texts={"brand": words(*brand), "model": words(*name)}), small_class())
    reference = reference_table(found, found.dated(table_of(1), None))
    assert reference.texts["brand"].word(0) == "A"
    assert reference.texts["model"].word(0) in ("x", "y", "z")


def test_a_unit_worth_its_parts_is_explained_to_the_cent_too(sales: SalesTable) -> None:
    parts = np.arange(sales.rows) % 5 == 0
    sold = repriced(sales, np.where(parts, 60.0, sales.price))
    floored = fit_model(with_condition(sold, sold_as=words(*np.where(parts, "parts", "working"))), small_class())
    wreck = spotless(attributes=KNOWN, functions=healthy(power_on="dead", camera_main="dead"),
                     locks={"owner_account": "locked", "network_lock": "locked"})  # fmt: skip
    found = explain(floored, wreck)
    assert found.reference.amount + sum(each.money.amount for each in found.contributions) == found.estimate.amount
    assert found.estimate == estimate_unit(floored, wreck).estimate
    assert "sold for parts" in [each.name for each in found.contributions]


def test_a_later_day_is_a_contribution_of_time_only_through_the_reference(model: PriceModel) -> None:
    assert model.last_sale is not None
    later = model.last_sale + timedelta(days=365)
    found = explain(model, WORN, on=later)
    assert found.estimate == estimate_unit(model, WORN, on=later).estimate
    assert found.reference.amount < explain(model, WORN).reference.amount
    time = next(each for each in found.contributions if each.name == "time")
    assert (time.value, time.money.amount) == (str(later), 0)


def test_the_nearest_sales_are_paid_ones_in_order_of_likeness(model: PriceModel, sales: SalesTable) -> None:
    rows = np.flatnonzero(~sales.asked)
    told = replace(sales, line=np.arange(2, sales.rows + 2), refunded=np.arange(sales.rows) == rows[3])
    for row in rows[:3]:
        own = model.dated(told.condition.take(np.array([row])), None)
        found = nearest_sales(model, own, told)
        assert len(found) == NEAREST
        assert found[0].line == row + 2
        assert found[0].differs == ()
        assert float(found[0].price.amount) == pytest.approx(sales.price[row], abs=0.006)
        lines = [each.line for each in found]
        assert rows[3] + 2 not in lines
        assert not sales.asked[np.array(lines) - 2].any()
    itself = nearest_sales(model, model.dated(told.condition.take(rows[3:4]), None), told)
    assert itself[0].line != rows[3] + 2


def test_a_near_sale_says_in_what_it_differs(model: PriceModel, sales: SalesTable) -> None:
    found = explain(model, spotless(attributes=KNOWN), sales=sales).nearest
    other = explain(model, spotless(attributes={**KNOWN, "storage_gb": "700"}), sales=sales).nearest
    assert len(found) == len(other) == NEAREST
    assert all(any("instead of 700" in each for each in sale.differs) for sale in other)
    assert all(len(sale.differs) <= MOST_DIFFERENCES for sale in (*found, *other))


def test_without_sales_none_are_near(model: PriceModel) -> None:
    assert explain(model, WORN).nearest == ()


def test_where_the_model_abstains_there_is_nothing_to_explain(model: PriceModel) -> None:
    with pytest.raises(Abstained, match="too far outside"):
        explain(model, spotless(attributes={**KNOWN, "storage_gb": "90000"}))
    with pytest.raises(BadInput, match="of the class"):
        explain(model, Unit.model_validate({"class": "camera"}))
