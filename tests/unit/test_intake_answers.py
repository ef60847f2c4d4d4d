from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from data.catalogue.reader import class_names, find_class
from pricing.decisions.intake_answers import take_answers
from pricing.decisions.intake_questions import questions_of
from pricing.errors import Problem
from pricing.records.question import Answer, Question
from pricing.records.unit import Unit, status_now

DAY = date(2026, 3, 3)
SERIAL = "SN-77-ABC-901"
OWN_WORDS = {
    "updates": "2027-06-30", "cell:cycles": "312", "battery_share": "84", "data": "built-in erase", "seal": "gasket",
    "identity:body": SERIAL, "identity:board": SERIAL, "identity:second": "260531793113837",
}  # fmt: skip
DETAILS: dict[str, dict[str, Any]] = {
    "opened": {"day": date(2026, 3, 1)}, "battery_share": {"way": "measured"}, "data": {"way": "first start"},
    "supply": {"way": "marked; sound; 20 W"},
}


def taken(*rows: dict[str, Any], name: str = "phone", **fields: Any) -> tuple[Unit, tuple[Problem, ...]]:
    unit = Unit.model_validate({"class": name, **fields})
    answers = [Answer.model_validate(row) for row in rows]
    return take_answers(unit, find_class(name), answers, on=DAY)


def good(*rows: dict[str, Any], name: str = "phone", **fields: Any) -> Unit:
    unit, problems = taken(*rows, name=name, **fields)
    assert problems == ()
    return unit


def answer_to(question: Question) -> Answer:
    """Return a truthful-looking answer to any question: the best one that it allows."""
    best = next((word for word in ("works", "clean", "free", "none", "nothing seen", "white", "yes", "by us", "in",
                              "none seen", "complete")
                 if word in question.answers), None)  # fmt: skip
    words = best or OWN_WORDS.get(question.key) or (question.answers[-1] if question.answers else "64")
    details = DETAILS.get(question.key, {}) | ({"restarted": True} if question.restart else {})
    if question.key.startswith(("handled:", "qualified")):
        details |= {"by": "bench 2", "day": DAY}
    return Answer.model_validate({"key": question.key, "answer": words, **details})


@pytest.mark.parametrize("name", class_names())
def test_when_every_question_is_answered_none_is_left_open(name: str) -> None:
    device_class = find_class(name)
    unit = Unit.model_validate({"class": name})
    for _ in range(3):  # an answer may raise a further question
        waiting = [question for question in questions_of(unit, device_class) if question.state in ("open", "void")]
        unit, problems = take_answers(unit, device_class, [answer_to(question) for question in waiting], on=DAY)
        assert problems == ()
    assert [question.key for question in questions_of(unit, device_class) if question.state in ("open", "void")] == []


def test_a_test_is_of_the_day_of_the_answers_unless_another_is_stated() -> None:
    unit = good(
        {"key": "function:wifi", "answer": "works"}, {"key": "function:nfc", "answer": "dead", "day": "2026-02-01"}
    )
    assert unit.functions["wifi"].tested_on == DAY
    assert unit.functions["nfc"].tested_on == date(2026, 2, 1)
    assert good({"key": "function:wifi", "answer": "untested"}).functions["wifi"].tested_on is None


def test_what_is_not_answered_stays_untested() -> None:
    phone = find_class("phone")
    unit = good({"key": "function:wifi", "answer": "works"})
    statuses = {function.name: status_now(function, unit, phone) for function in phone.functions}
    assert statuses.pop("wifi") == "works"
    assert set(statuses.values()) == {"untested"}


def test_works_poorly_needs_a_symptom() -> None:
    _, problems = taken({"key": "function:wifi", "answer": "impaired"})
    assert "needs a symptom" in problems[0].expected
    assert good({"key": "function:wifi", "answer": "impaired", "symptom": "weak"}).functions["wifi"].symptom == "weak"


def test_marks_of_one_surface_add_up_and_replace_those_of_before() -> None:
    rows = (
        {"key": "surface:screen", "answer": "scratch", "size_mm": 4, "count": 2, "at_arms_length": False},
        {"key": "surface:screen", "answer": "chip", "size_mm": 1},
    )
    unit = good(*rows, marks=[{"surface": "screen", "kind": "crack"}, {"surface": "bezel", "kind": "dent"}])
    assert [(mark.surface, mark.kind, mark.count) for mark in unit.marks] == [
        ("bezel", "dent", 1), ("screen", "scratch", 2), ("screen", "chip", 1),
    ]  # fmt: skip
    clean = good({"key": "surface:screen", "answer": "clean"}, marks=[{"surface": "screen", "kind": "crack"}])
    assert clean.marks == ()
    assert "screen" in clean.looked_at
    covered = good({"key": "surface:screen", "answer": "covered"}, looked_at=["screen"])
    assert (covered.covered, covered.looked_at) == (("screen",), ())


def test_locks_parts_and_opening_keep_their_day_and_way() -> None:
    unit = good(
        {"key": "lock:network_block", "answer": "free", "way": "register", "day": "2026-03-01"},
        {"key": "part:screen", "answer": "third-party", "day": "2026-02-20"},
        {"key": "opened", "answer": "by us", "day": "2026-02-20"},
        {"key": "opened_parts", "answer": "screen; cell"},
    )
    assert (unit.locks["network_block"].way, unit.locks["network_block"].checked_on) == ("register", date(2026, 3, 1))
    assert (unit.parts[0].origin, unit.parts[0].fitted_on) == ("third-party", date(2026, 2, 20))
    assert (unit.opened, unit.opened_on, unit.opened_parts) == ("by us", date(2026, 2, 20), ("screen", "cell"))


def test_a_reported_and_a_measured_share_are_kept_apart_in_any_order() -> None:
    reported = {"key": "battery_share", "answer": "97 %", "way": "reported"}
    measured = {"key": "battery_share", "answer": "81", "way": "measured"}
    for rows in ((reported, measured), (measured, reported)):
        unit = good(*rows)
        assert (str(unit.battery_share), unit.battery_measured, str(unit.cell.reported_share)) == ("81", True, "97")
    _, problems = taken({"key": "battery_share", "answer": "81"})
    assert problems[0].expected == "reported or measured"


def test_data_are_verified_only_when_it_is_said_how() -> None:
    assert not good({"key": "data", "answer": "built-in erase"}).data_verified
    unit = good({"key": "data", "answer": "built-in erase", "way": "first start"})
    assert (unit.data_verified, unit.data_verified_how, unit.data_erased_on) == (True, "first start", DAY)


@pytest.mark.parametrize("left_out", ["by", "day"])
@pytest.mark.parametrize(("key", "name"), [("handled:sound", "phone"), ("qualified", "console")])
def test_a_tick_without_name_and_day_is_not_taken(key: str, name: str, left_out: str) -> None:
    row = {"key": key, "answer": "yes", "by": "bench 2", "day": "2026-03-03"}
    assert good(row, name=name)
    _, [problem] = taken({field: value for field, value in row.items() if field != left_out}, name=name)
    assert problem.column == f"{key}.{left_out}"


def test_one_bad_answer_hides_no_other() -> None:
    rows = (
        {"key": "function:wlan", "answer": "works", "line": 2},
        {"key": "function:wifi", "answer": "fine", "line": 3},
        {"key": "lock:owner_account", "answer": "open", "line": 4},
        {"key": "cell:cycles", "answer": "many", "line": 5},
        {"key": "updates", "answer": "summer", "line": 6},
        {"key": "battery_share", "answer": "300", "way": "measured", "line": 7},
        {"key": "function:gnss", "answer": "works", "line": 8},
        {"key": "opened_parts", "answer": "screen; lid", "line": 9},
        {"key": "supply", "answer": "own", "line": 10},
    )
    unit, problems = taken(*rows)
    assert [problem.line for problem in problems] == [2, 3, 4, 5, 6, 7, 9, 10]
    assert list(unit.functions) == ["gnss"]
    assert "one of works, impaired, dead" in problems[1].expected
    assert problems[0].column == "function:wlan.key"


def test_a_number_is_masked_in_the_problem_that_it_causes() -> None:
    _, problems = taken({"key": "identity:bord", "answer": SERIAL}, {"key": f"identity:{SERIAL}", "answer": "x"})
    assert SERIAL not in str(problems[0])
    _, problems = taken({"key": "function:wifi", "answer": "260531793113837"})
    assert "2605317" not in str(problems)


def test_an_unsound_supply_is_taken_as_what_it_is() -> None:
    unit = good({"key": "supply", "answer": "other", "way": "unmarked; sound; 19.5 W; plug C"})
    supply = unit.supply
    assert supply is not None
    assert (supply.marked, supply.watts, supply.plug, supply.may_go_along) == (False, 19.5, "C", False)


def test_none_means_looked_for_and_not_found() -> None:
    unit = good({"key": "trace", "answer": "smoke; damp"})
    assert unit.traces == ("smoke", "damp")
    unit = good({"key": "trace", "answer": "none"}, traces=["smoke"])
    assert (unit.traces, unit.answered_none) == ((), ("trace",))
    assert good({"key": "trace", "answer": "smoke"}, answered_none=["trace"]).answered_none == ()


def test_the_same_answers_twice_change_nothing_more() -> None:
    rows = ({"key": "surface:screen", "answer": "scratch"}, {"key": "part:cell", "answer": "original"},
            {"key": "trace", "answer": "none"}, {"key": "identity:body", "answer": SERIAL})  # fmt: skip
    once = good(*rows)
    twice, _ = take_answers(once, find_class("phone"), [Answer.model_validate(row) for row in rows], on=DAY)
    assert twice == once
