from __future__ import annotations

from typing import Any

import pytest

from data.catalogue.reader import find_class
from listing_templates.fact import Fact
from listing_templates.facts import facts_of
from pricing.records.unit import Unit

YES = {"answer": True, "by": "bench 2", "on": "2026-03-04"}
HANDLED = {"seen_flat": YES, "sound": YES, "in_voltage_range": YES, "sits_free": {**YES, "on": "2026-03-05"}}
SERIAL, OTHER = "SN-77-ABC-901", "SN-12-XYZ-333"


def facts(**fields: Any) -> dict[str, Fact]:
    unit = Unit.model_validate({"class": "phone", **fields})
    return {fact.key: fact for fact in facts_of(unit, find_class("phone"))}


def test_what_nobody_recorded_adds_no_fact() -> None:
    assert {fact.noun for fact in facts().values()} == {
        "class", "function", "surface", "grade", "opened", "liquid", "lock", "data", "ask",
    }  # fmt: skip


def test_each_key_stands_once_when_everything_was_recorded() -> None:
    unit = Unit.model_validate({
        "class": "phone", "identity": SERIAL, "identities": {"board": OTHER, "second": "260531793113837"},
        "doubts": ["reported stolen"], "traces": ["smoke", "smoke"], "earlier_work": ["flux", "lifted pads"],
        "cell": {"look": "swollen", "message": True, "maker": "other", "cycles": 512, "reported_share": "91"},
        "corrosion": "seen", "looked_at_inside": ["board"], "carriers": {"sim": "still in", "esim_profile": "none"},
        "software": {"version": "14.2", "language": "English", "state": "replaced", "licence": False,
                     "updates_until": "2027-06-30"},
        "screws": "some missing", "sealed_with": "new adhesive", "box_matches": False,
        "supply": {"maker": "other", "watts": 20, "plug": "C", "marked": True, "damaged": False},
    })  # fmt: skip
    found = facts_of(unit, find_class("phone"))
    assert len({fact.key for fact in found}) == len(found)
    assert {fact.noun for fact in found} >= {
        "stop", "cell", "corrosion", "carrier", "system", "updates", "trace", "work", "screws", "seal", "box", "supply",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("cell", "state"),
    [
        ({"look": "swollen"}, "damaged"),
        ({"look": "swollen", "handling": HANDLED}, "damaged"),
        ({"had_impact": True}, "unseen"),
        ({"had_impact": True, "look": "nothing seen"}, "unseen"),
        ({"had_impact": True, "handling": HANDLED}, "handled"),
        ({"had_impact": True, "handling": {"taken_out": YES}}, "changed"),
    ],
)
def test_a_cell_is_damaged_unseen_handled_or_changed(cell: dict[str, Any], state: str) -> None:
    found = facts(cell=cell)["cell:look"]
    assert found.state == state
    assert found.danger is (state in ("damaged", "unseen"))


def test_the_day_of_a_handled_cell_is_that_of_the_last_answer() -> None:
    assert str(facts(cell={"had_impact": True, "handling": HANDLED})["cell:look"].day) == "2026-03-05"


def test_a_sound_cell_without_a_fall_is_no_fact_of_its_own() -> None:
    assert "cell:look" not in facts(cell={"look": "nothing seen", "had_impact": False})


def test_a_reported_share_stands_beside_a_measured_one() -> None:
    found = facts(battery_share="81", battery_measured=True, cell={"reported_share": "97"})
    assert (found["battery_share"].state, found["battery_share"].way) == ("81", "measured")
    assert found["cell:reported"].detail == "97"


@pytest.mark.parametrize(
    ("identities", "states"),
    [
        ({"body": SERIAL, "board": SERIAL}, {"recorded"}),
        ({"body": SERIAL, "board": SERIAL.replace("-", " ")}, {"recorded"}),
        ({"body": SERIAL, "board": OTHER}, {"differs"}),
        ({"body": SERIAL, "second": OTHER}, {"recorded"}),
    ],
)
def test_numbers_of_two_units_differ_and_are_only_shown_masked(identities: dict[str, str], states: set[str]) -> None:
    found = facts(identities=identities)
    assert {fact.state for key, fact in found.items() if key.startswith("identity:")} == states
    assert "ABC" not in str(found)
    assert "XYZ" not in str(found)


def test_the_first_number_is_compared_with_those_read_elsewhere() -> None:
    assert facts(identity=SERIAL, identities={"board": OTHER})["identity:board"].state == "differs"
    assert facts(identity=SERIAL, identities={"board": SERIAL})["identity:board"].state == "recorded"


@pytest.mark.parametrize(
    "field",
    [
        {"accessories": [f"box of {SERIAL}"]},
        {"data_erased": f"erased {SERIAL}"},
        {"observed": [f"Label says {SERIAL}."]},
        {"earlier_work": [SERIAL]},
        {"functions": {"wifi": {"status": "impaired", "symptom": f"joins as {SERIAL}"}}},
        {"locks": {"network_block": {"state": "free", "way": f"asked for {SERIAL}"}}},
        {"attributes": {"region": SERIAL}},
    ],
)
def test_a_number_written_into_another_field_is_masked_there_too(field: dict[str, Any]) -> None:
    assert SERIAL in str(field)
    assert SERIAL not in str(facts(identity=SERIAL, **field))


def test_an_imei_that_is_not_the_units_own_is_masked_too() -> None:
    assert "605317931" not in str(facts(accessories=["box 260531793113837"]))


@pytest.mark.parametrize("bad", [{"marked": False}, {"damaged": True}, {"maker": "not known"}])
def test_an_unsound_supply_is_left_out_of_what_is_included(bad: dict[str, Any]) -> None:
    sound = {"maker": "own", "watts": 20, "marked": True, "damaged": False}
    included = ["box", "charger", "power supply", "charging cable"]
    good = facts(supply=sound, accessories=included)
    assert good["supply"].state == "own"
    assert "accessory:charger" in good
    left = facts(supply={**sound, **bad}, accessories=included)
    assert left["supply"].state == "left out"
    assert [key for key in left if key.startswith("accessory:")] == ["accessory:box", "accessory:charging cable"]


@pytest.mark.parametrize("storage", ["destroyed", "handed over", "kept"])
def test_storage_that_is_out_is_told_as_such(storage: str) -> None:
    assert facts(storage=storage, data_erased="not erased")["data"].state == storage


def test_how_an_erasure_was_verified_is_kept() -> None:
    erased = {"data_erased": "built-in erase", "data_verified": True, "data_verified_how": "first start on-line"}
    assert facts(**erased)["data"].detail == "first start on-line"
