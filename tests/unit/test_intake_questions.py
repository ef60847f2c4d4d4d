from __future__ import annotations

from typing import Any

import pytest

from data.catalogue.reader import class_names, find_class
from pricing.decisions.intake_questions import STATIONS, intake_of, questions_of
from pricing.records.question import Question
from pricing.records.unit import Unit
from tests.example_units import example_units

ORDER = ("danger look", "identity", *STATIONS, "surfaces", "inside", "cell", "inside", "data", "locks", "with it")


def asked(name: str = "phone", **fields: Any) -> dict[str, Question]:
    unit = Unit.model_validate({"class": name, **fields})
    return {question.key: question for question in questions_of(unit, find_class(name))}


@pytest.mark.parametrize("name", class_names())
def test_every_function_surface_and_lock_of_a_class_is_asked_once(name: str) -> None:
    device_class = find_class(name)
    keys = [question.key for question in questions_of(Unit.model_validate({"class": name}), device_class)]
    assert len(keys) == len(set(keys))
    wanted = {f"function:{function.name}" for function in device_class.functions}
    wanted |= {f"lock:{lock.name}" for lock in device_class.locks}
    wanted |= {f"surface:{surface.name}" for surface in device_class.surfaces}
    assert wanted <= set(keys)


@pytest.mark.parametrize("name", class_names())
def test_danger_comes_before_power_and_gates_before_what_hangs_on_them(name: str) -> None:
    stations = [question.station for question in asked(name).values()]
    runs = [station for place, station in enumerate(stations) if place == 0 or stations[place - 1] != station]
    order = [station for station in ORDER if station in runs]
    assert [station for station in runs if station != "inside"] == [s for s in order if s != "inside"]
    assert runs[0] == "danger look"
    functions = [question for question in asked(name).values() if question.key.startswith("function:")]
    gates = [question.gate for question in functions]
    assert gates == sorted(gates, reverse=True)


def test_what_was_not_answered_is_open_and_counts() -> None:
    phone = find_class("phone")
    intake = intake_of(Unit.model_validate({"class": "phone"}), phone)
    assert intake.open == len(intake.questions)
    assert intake.minutes > sum(function.minutes for function in phone.functions)
    assert intake.before_closing == tuple(line.ask for line in phone.before_closing)


def test_behind_a_dead_gate_nothing_can_be_tested() -> None:
    questions = asked(functions={"power_on": "dead"})
    wifi = questions["function:wifi"]
    assert (wifi.state, wifi.because) == ("cannot be tested", "function:power_on")
    assert questions["function:power_on"].state == "answered"
    assert questions["function:sim_reader"].state == "cannot be tested"
    assert questions["surface:screen"].state == "open"
    unit = Unit.model_validate({"class": "phone", "functions": {"power_on": "dead"}})
    blocked = sum(question.state == "cannot be tested" for question in questions.values())
    assert intake_of(unit, find_class("phone")).open == len(questions) - blocked - 1


def test_a_test_that_an_opening_made_void_is_asked_again() -> None:
    works = {"status": "works", "tested_on": "2026-03-01"}
    tested = {"nfc": works, "wifi": works}
    questions = asked(functions=tested, opened="by us", opened_on="2026-03-02", opened_parts=["back_panel"])
    assert (questions["function:nfc"].state, questions["function:nfc"].because) == ("void", "opened")
    assert questions["function:wifi"].state == "answered"


def test_a_test_without_the_restart_that_it_needs_is_void() -> None:
    lens = asked(functions={"camera_wide": {"status": "works", "restarted": False}})["function:camera_wide"]
    assert (lens.state, lens.because, lens.restart) == ("void", "restart", True)


def test_a_question_carries_what_the_bench_needs() -> None:
    calls = asked()["function:mobile_calls"]
    assert calls.how.startswith("Call out and in")
    assert calls.minutes == 3
    assert "drops calls" in calls.symptoms
    assert calls.answers == ("works", "impaired", "dead", "removed", "untested")
    assert "not fitted" in asked()["function:nfc"].answers


def test_a_function_that_the_attributes_rule_out_is_answered() -> None:
    assert asked("tablet", attributes={"mobile": "no"})["function:mobile_calls"].state == "answered"
    assert asked("tablet", attributes={"mobile": "yes"})["function:mobile_calls"].state == "open"


def test_questions_on_a_cell_are_asked_where_a_fall_makes_them_needed() -> None:
    assert not [key for key in asked() if key.startswith("handled:")]
    fallen = [key for key in asked(cell={"had_impact": True}) if key.startswith("handled:")]
    assert len(fallen) == 5
    assert not [key for key in asked("lens") if key.startswith(("cell:", "handled:"))]


def test_who_opens_mains_is_asked_only_where_there_are() -> None:
    assert "qualified" in asked("console", attributes={"kind": "home"})
    assert "qualified" not in asked("console", attributes={"kind": "hand-held"})
    assert "qualified" not in asked("phone")


def test_numbers_are_only_shown_masked() -> None:
    questions = asked(identity="260531793113837", identities={"board": "SN-77-ABC-901"})
    assert questions["identity:body"].answer == "…837"
    assert questions["identity:board"].answer == "…01"


def test_the_stops_of_a_unit_stand_with_its_questions() -> None:
    unit = Unit.model_validate({"class": "phone", "cell": {"look": "swollen"}})
    stops = intake_of(unit, find_class("phone")).stops
    assert len(stops) == 2
    assert any("Do not switch on" in stop for stop in stops)


def test_units_that_benches_usually_have_leave_only_new_questions_open() -> None:
    for device_class, unit in example_units():
        questions = {question.key: question for question in questions_of(unit, device_class)}
        surfaces = [question for key, question in questions.items() if key.startswith("surface:")]
        assert {question.state for question in surfaces} == {"answered"}, device_class.name
