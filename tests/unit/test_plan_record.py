"""Repair problems that cannot be are refused in words, before anything is planned."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from pricing.records.plan import Cause, Fault, Harm, PlanAction, PlanExit, RepairProblem

FAN = Fault(function="fan", status="dead")
UNCLEAR = Fault(function="fan", status="dead", causes=(Cause(name="a", chance=0.4), Cause(name="b", chance=0.6)))


def action(**more):
    return {"name": "new fan", "functions": ("fan",)} | more


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        (action(success=-0.1), "greater than or equal to 0"),
        (action(success=1.2), "less than or equal to 1"),
        (action(cost=-1), "greater than or equal to 0"),
        (action(functions=()), "at least 1"),
        (action(attempts=0), "greater than or equal to 1"),
        (action(harms=(Harm(functions=("x",), chance=0.7), Harm(functions=("y",), chance=0.4))), "sum to 1.1"),
        (action(kind="diagnose", functions=("fan", "lamp")), "one fault, not of 2"),
        (action(kind="remove", doa_share=0.1), "only a repair may fail"),
    ],
)
def test_an_action_with_impossible_numbers_is_refused(fields, says):
    with pytest.raises(ValidationError, match=says):
        PlanAction(**fields)


@pytest.mark.parametrize("chances", [(0.7, 0.6), (0.2, 0.3)])
def test_chances_of_causes_that_do_not_sum_to_one_are_refused(chances):
    causes = tuple(Cause(name=name, chance=chance) for name, chance in zip("ab", chances, strict=True))
    with pytest.raises(ValidationError, match=f"sum to {sum(chances):g}; expected 1"):
        Fault(function="fan", status="dead", causes=causes)


def test_causes_of_one_fault_need_different_names():
    with pytest.raises(ValidationError, match="different names"):
        Fault(function="fan", status="dead", causes=(Cause(name="a", chance=0.5), Cause(name="a", chance=0.5)))


@pytest.mark.parametrize(
    ("problem", "says"),
    [
        ({"actions": (PlanAction(**action(functions=("lamp",))),)}, "new fan is for lamp, which has no fault here"),
        ({"actions": (PlanAction(**action()),) * 2}, '"new fan" stands twice'),
        ({"faults": (FAN, FAN)}, "two faults"),
        ({"actions": (PlanAction(**action(kind="diagnose")),)}, "no causes to tell apart"),
        ({"actions": (PlanAction(**action(success_by_cause={"a": 1.0})),)}, "needs each cause"),
        ({"faults": (UNCLEAR,), "actions": (PlanAction(**action(success_by_cause={"a": 1.0})),)}, "there are: a, b"),
        ({"exits": (PlanExit(name="p", kind="parts", net=1, by_function={"lid": 2}),)}, "p counts lid"),
        ({"exits": (PlanExit(name="stop", kind="parts", net=1),)}, '"stop" stands twice'),
        ({"currency": "QQQ"}, "unknown currency"),
        ({"hour_cost": -1}, "greater than or equal to 0"),
        ({"daily_fall": 1.0}, "less than 1"),
    ],
)
def test_a_problem_that_does_not_hang_together_is_refused(problem, says):
    with pytest.raises(ValidationError, match=says):
        RepairProblem(**{"currency": "EUR", "faults": (FAN,)} | problem)


def test_what_a_repair_may_break_may_have_a_repair_of_its_own():
    breaks = PlanAction(**action(harms=(Harm(functions=("lamp",), chance=0.1),)))
    lamp = PlanAction(name="lamp", functions=("lamp",))
    problem = RepairProblem(currency="EUR", faults=(FAN,), actions=(breaks, lamp))
    assert len(problem.actions) == 2
