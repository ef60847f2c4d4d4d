"""What the bench has to know beside a plan's figures."""

from __future__ import annotations

from datetime import date

import numpy as np

from pricing.decisions.plan import Planner
from pricing.decisions.repair_notes import names_in, repair_notes
from pricing.decisions.repairs import RepairCase, repair_problem
from pricing.records.device_class import DeviceClass, Function, Part
from pricing.records.part_offer import PartOffer
from pricing.records.plan_terms import PlanTerms
from pricing.records.unit import Unit

LAMP = DeviceClass(
    name="lamp",
    functions=(Function(name="dimmer"), Function(name="switch")),
    parts=(
        Part(name="dimmer_board", label="dimmer board", function=("dimmer",), touches=("switch",), moves_over=("knob",),
             paired="message", variant=("revision",), harm=("shade", "switch")),
        Part(name="shade"),
    ),
)  # fmt: skip


def notes_of(**fields):
    functions = {"dimmer": "dead", "switch": {"status": "works", "tested_on": "2026-02-01"}}
    unit = Unit.model_validate({"class": "lamp", "functions": functions, **fields})
    offer = PartOffer(part="dimmer_board", source="shelf", available="donor", lead_days=3)
    case = RepairCase(unit, LAMP, (offer,), PlanTerms(), "EUR")
    problem = repair_problem(case)

    def price(goods):
        return np.array([90.0 if each.statuses["dimmer"] == "works" else 30.0 for each in goods])

    plan = Planner(problem, price, lambda gross: gross).plan()
    assert "fit dimmer board (third-party, shelf)" in set(names_in(plan.tree))
    return " | ".join(repair_notes(case, problem, plan))


def test_what_moves_over_what_must_match_and_what_shows_a_message_is_said():
    told = notes_of()
    assert "comes without knob" in told
    assert "must match in revision" in told
    assert "may show a message" in told


def test_what_the_plan_assumes_and_leaves_out_is_said():
    told = notes_of()
    assert "ordered one after the other" in told
    assert "tested again before the sale" in told
    assert "harm to shade is not priced" in told
    assert "did not help before" not in told


def test_attempts_that_failed_are_told_and_not_counted():
    past = {"on": date(2026, 2, 3), "what": "new board", "part": "dimmer_board", "result": "same"}
    told = notes_of(history=[past])
    assert "dimmer_board: 1 attempt did not help before" in told
    assert "what it cost does not count" in told


def test_tests_that_an_opening_made_void_are_named():
    told = notes_of(opened="by us", opened_on="2026-02-05", opened_parts=["dimmer_board"])
    assert "count as untested since the unit was opened: switch" in told
