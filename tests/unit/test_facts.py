from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from data.catalogue.reader import find_class
from listing_templates.fact import Fact
from listing_templates.facts import facts_of
from pricing.records.device_class import Combination, DeviceClass, Function
from pricing.records.unit import Mark, Unit
from tests.builders import LENS_SAY, SOUND_SAY, healthy, small_class, small_unit, spotless


def facts(unit: Unit, device_class: DeviceClass | None = None) -> dict[str, Fact]:
    return {fact.key: fact for fact in facts_of(unit, device_class or small_class())}


def test_an_empty_unit_has_a_fact_for_everything_that_is_not_known() -> None:
    found = facts(small_unit())
    assert found["function:wifi"].state == "untested"
    assert found["function:wifi"].source == "not mentioned"
    assert found["surface:screen"].state == "not looked at"
    assert found["lock:owner_account"].state == "not checked"
    assert found["opened"].state == "not known"
    assert found["liquid"].state == "not looked at"
    assert found["data"].state == "not recorded"
    assert found["grade"].state == "not graded"
    assert "battery_share" not in found


def test_what_such_goods_do_not_have_is_no_fact_until_somebody_records_it() -> None:
    bare = small_class().model_copy(update={"without": ("stored data", "liquid indicator")})
    assert not {"liquid", "data"} & set(facts(small_unit(), bare))
    seen = facts(small_unit(liquid_indicator="red", data_erased="not erased"), bare)
    assert (seen["liquid"].state, seen["data"].state) == ("red", "not erased")


def test_each_key_stands_once_and_carries_its_day_way_and_source() -> None:
    unit = spotless(
        functions=healthy(wifi={"status": "dead", "tested_on": "2026-03-04"}),
        locks={"network_lock": {"state": "free", "checked_on": "2026-03-05", "way": "two SIM cards"}},
    )
    all_facts = facts_of(unit, small_class())
    assert len({fact.key for fact in all_facts}) == len(all_facts)
    found = facts(unit)
    assert (found["function:wifi"].state, found["function:wifi"].day) == ("dead", date(2026, 3, 4))
    assert found["lock:network_lock"].way == "two SIM cards"
    assert found["grade"].source == "computed"
    assert found["function:wifi"].says == "Wi-Fi: dead (2026-03-04)"


def test_a_test_before_the_opening_is_untested_and_says_that_the_opening_did_it() -> None:
    found = facts(spotless(opened="by us", opened_on="2026-03-10", opened_parts=["back_panel"]))
    lens = found["function:camera_wide"]
    assert (lens.state, lens.detail, lens.because, lens.source) == ("untested", "opened", "opened", "computed")
    assert found["function:wifi"].state == "works"


def test_a_test_after_the_opening_stands() -> None:
    found = facts(spotless(opened="by us", opened_on="2026-03-01"))
    assert found["function:camera_wide"].state == "works"


def test_a_test_that_needs_a_restart_and_had_none_is_untested() -> None:
    found = facts(spotless(functions=healthy(camera_wide={"status": "works", "restarted": False})))
    assert (found["function:camera_wide"].state, found["function:camera_wide"].detail) == ("untested", "restart")


def test_what_a_dead_function_keeps_from_being_tested_names_it() -> None:
    found = facts(small_unit(functions={"power_on": "dead"}))
    assert found["function:wifi"].because == "function:power_on"
    assert found["function:wifi"].detail == "blocked"
    assert found["function:nfc"].detail == "silent"


def test_a_blocker_is_found_through_a_function_that_is_itself_untested() -> None:
    chain = DeviceClass(name="talker", functions=(
        Function(name="power_on"),
        Function(name="start", requires=("power_on",)),
        Function(name="wifi", requires=("start",)),
    ))  # fmt: skip
    found = facts(small_unit(functions={"power_on": "dead"}), chain)
    assert found["function:wifi"].because == "function:power_on"


def test_functions_that_require_each_other_do_not_hang() -> None:
    circle = DeviceClass(name="talker", functions=(
        Function(name="hen", requires=("egg",)), Function(name="egg", requires=("hen",)),
    ))  # fmt: skip
    assert facts(small_unit(), circle)["function:hen"].detail == "silent"


def test_not_fitted_is_a_state_of_its_own() -> None:
    assert facts(small_unit(functions={"nfc": "not fitted"}))["function:nfc"].state == "not fitted"


def test_marks_of_one_kind_on_one_surface_are_one_fact() -> None:
    scratch = {"surface": "back_panel", "kind": "scratch"}
    unit = spotless(marks=[scratch, {**scratch, "size_mm": 4}, {"surface": "screen", "kind": "crack"}])
    found = facts(unit)
    assert len(found["mark:back_panel:scratch"].marks) == 2
    assert not found["mark:back_panel:scratch"].danger
    assert found["mark:screen:crack"].danger
    assert found["surface:screen"].state == "marked"


def test_a_surface_that_the_unit_does_not_have_is_no_fact_unless_a_mark_says_otherwise() -> None:
    phone = find_class("phone")
    bare = Unit.model_validate({"class": "phone", "functions": {"hinge_fold": "not fitted"}, "looked_at": ["hinge"]})
    assert "surface:hinge" not in facts(bare, phone)
    marked = bare.model_copy(update={"marks": (Mark(surface="hinge", kind="dent"),)})
    assert facts(marked, phone)["surface:hinge"].state == "marked"


def test_a_covered_surface_is_not_clean_even_when_it_was_looked_at() -> None:
    assert facts(spotless(covered=["screen"]))["surface:screen"].state == "covered"


@pytest.mark.parametrize(
    ("fields", "state"),
    [
        ({"opened": "no sign"}, "no sign"),
        ({"opened": "by others"}, "by others"),
        ({"opened": "no sign", "parts": [{"part": "screen", "origin": "third-party"}]}, "opened"),
        ({"opened": "not known", "opened_on": "2026-01-01"}, "opened"),
        ({"opened": "no sign", "parts": [{"part": "screen", "origin": "original"}]}, "no sign"),
    ],
)
def test_a_fitted_part_or_a_day_shows_that_it_was_open(fields: dict[str, Any], state: str) -> None:
    assert facts(small_unit(**fields))["opened"].state == state


def test_each_origin_of_a_part_fitted_twice_is_kept() -> None:
    twice = [{"part": "screen", "origin": "salvaged"}, {"part": "screen", "origin": "original"}]
    found = facts(small_unit(parts=twice))
    assert (found["part:screen"].state, found["part:screen:2"].state) == ("salvaged", "original")


def test_the_identity_is_only_there_masked() -> None:
    found = facts(small_unit(identity="260531793113837"))
    assert found["identity"].detail == "…837"
    assert "26053179" not in str(facts_of(small_unit(identity="260531793113837"), small_class()))


def test_battery_reported_and_measured_are_told_apart() -> None:
    assert facts(small_unit(battery_share="84"))["battery_share"].way == "reported"
    assert facts(small_unit(battery_share="84", battery_measured=True))["battery_share"].way == "measured"


def test_what_the_class_does_not_know_is_kept_not_dropped() -> None:
    unit = small_unit(
        functions={"zoom_ring": {"status": "impaired", "symptom": "stiff"}, "horn": "works"},
        marks=[{"surface": "antenna", "kind": "dent"}],
        locks={"old_lock": "locked"},
        parts=[{"part": "antenna", "origin": "salvaged"}],
    )
    found = facts(unit)
    assert found["function:zoom_ring"].state == "impaired"
    assert found["function:horn"].state == "untested"
    assert {"mark:antenna:dent", "lock:old_lock", "part:antenna"} <= set(found)


@pytest.mark.parametrize(
    ("way", "verified", "state"),
    [("overwritten", True, "verified"), ("overwritten", False, "not verified"), ("No.", True, "not erased"),
     ("  ", True, "not recorded"), (None, False, "not recorded")],
)  # fmt: skip
def test_data_is_erased_only_with_a_way_that_is_one(way: str | None, verified: bool, state: str) -> None:
    assert facts(small_unit(data_erased=way, data_verified=verified))["data"].state == state


def said(unit: Unit, device_class: DeviceClass | None = None) -> list[str | None]:
    return [fact.detail for key, fact in facts(unit, device_class).items() if key.startswith("combination:")]


def test_a_combination_holds_only_when_all_its_conditions_do() -> None:
    assert said(spotless(functions=healthy(microphone_video="dead"))) == [SOUND_SAY]
    assert said(spotless(functions=healthy(microphone_video="dead", microphone_call="untested"))) == []
    assert said(spotless()) == []


def test_an_observed_combination_needs_to_have_been_seen() -> None:
    removed = healthy(camera_wide="removed")
    assert said(spotless(functions=removed)) == []
    assert said(spotless(functions=removed, observed=[LENS_SAY])) == [LENS_SAY]


def test_what_the_bench_wrote_down_itself_is_kept() -> None:
    assert said(spotless(observed=["The lens rattles."])) == ["The lens rattles."]


@pytest.mark.parametrize(
    ("condition", "fields"),
    [
        ("part:screen=third-party", {"parts": [{"part": "screen", "origin": "third-party"}]}),
        ("mark:screen=chip|crack", {"marks": [{"surface": "screen", "kind": "crack"}]}),
        ("opened=by us", {"opened": "by us", "opened_on": "2026-01-01"}),
        ("liquid=red", {"liquid_indicator": "red"}),
        ("lock:network_lock=locked", {"locks": {"network_lock": "locked"}}),
        ("function:nfc=not fitted", {"functions": healthy(nfc="not fitted")}),
    ],
)
def test_each_kind_of_condition_is_understood(condition: str, fields: dict[str, Any]) -> None:
    device_class = small_class().model_copy(
        update={"combinations": (Combination(when=(condition,), say="It shows."),)}
    )
    assert said(spotless(**fields), device_class) == ["It shows."]
    assert said(spotless(), device_class) == []
