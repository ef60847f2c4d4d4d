"""States as numbers: every digit comes back, and what follows from them is right."""

from __future__ import annotations

import numpy as np
import pytest

from pricing.decisions.plan_layout import Layout
from pricing.records.plan import Cause, Fault, Harm, PlanAction, RepairProblem

CAUSES = (Cause(name="joint", chance=0.3), Cause(name="board", chance=0.7))


def problem_of(*actions, faults=None, **more):
    usual = (Fault(function="fan", status="impaired", causes=CAUSES), Fault(function="lens", status="dead"))
    return RepairProblem(currency="EUR", faults=faults or usual, actions=actions, **more)


def solder(**more):
    fields = {"name": "solder", "functions": ("fan",), "success_by_cause": {"joint": 0.8, "board": 0.1}, "attempts": 3}
    return PlanAction(**fields | {"retry": 0.5, "cost": 4, "minutes": 30, "lead_days": 2} | more)


def test_each_digit_comes_back_as_it_was_put_in():
    layout = Layout(problem_of(solder(), PlanAction(name="look", kind="diagnose", functions=("fan",))))
    rng = np.random.default_rng(1)
    digits = [status.digit for status in layout.functions.values()]
    digits += [each for its in layout.digits for each in (its.tries, its.failures, its.done) if each is not None]
    digits += list(layout.learnt.values())
    codes = np.zeros(200, dtype=np.int64)
    wanted = [rng.integers(0, digit.radix, 200) for digit in digits]
    for digit, values in zip(digits, wanted, strict=True):
        codes = digit.put(codes, values)
    for digit, values in zip(digits, wanted, strict=True):
        np.testing.assert_array_equal(digit.of(codes), values)
    assert codes.max() < layout.size


def test_only_what_can_change_has_a_digit_and_only_what_can_be_done():
    harm = Harm(functions=("lens", "shell"), chance=0.1)
    layout = Layout(problem_of(solder(harms=(harm,)), PlanAction(name="x", functions=("lens",), available=False)))
    assert list(layout.functions) == ["fan", "lens", "shell"]
    assert layout.functions["shell"].statuses == ("works", "dead")
    assert layout.functions["lens"].statuses == ("dead",)
    assert [action.name for action in layout.actions] == ["solder"]


def state(layout, failures=0, told=0):
    """Return the state after so many failures, with a cause told or not."""
    its = layout.digits[0]
    code = its.tries.put(its.failures.put(np.zeros(1, dtype=np.int64), failures), failures)
    return layout.learnt["fan"].put(code, told) if told else code


@pytest.mark.parametrize("failures", [0, 1, 2])
def test_an_attempt_that_failed_speaks_against_the_cause_that_it_should_have_mended(failures):
    layout = Layout(problem_of(solder()))
    likely = np.array([0.3 * np.prod([1 - 0.8 * 0.5**k for k in range(failures)]),
                       0.7 * np.prod([1 - 0.1 * 0.5**k for k in range(failures)])])  # fmt: skip
    beliefs = layout.beliefs("fan", state(layout, failures), layout.actions)[:, 0]
    np.testing.assert_allclose(beliefs, likely / likely.sum())
    chance = layout.success(0, state(layout, failures), layout.actions)[0]
    assert chance == pytest.approx(beliefs @ [0.8, 0.1] * 0.5**failures)


def test_a_cause_that_was_told_is_believed_whatever_failed_before():
    layout = Layout(problem_of(solder(), PlanAction(name="look", kind="diagnose", functions=("fan",))))
    beliefs = layout.beliefs("fan", state(layout, failures=1, told=2), layout.actions)[:, 0]
    np.testing.assert_array_equal(beliefs, [0.0, 1.0])


def test_money_and_days_follow_from_the_attempts():
    layout = Layout(problem_of(solder(), hour_cost=20))
    codes = np.concatenate([state(layout, failures) for failures in (0, 1, 2)])
    np.testing.assert_allclose(layout.spent(codes), [0, 14, 28])
    np.testing.assert_allclose(layout.days(codes), [0, 2, 4])


@pytest.mark.parametrize(
    ("before", "harm", "after"),
    [("works", "dead", "dead"), ("impaired", "dead", "dead"), ("dead", "impaired", "dead"),
     ("removed", "dead", "removed"), ("works", "impaired", "impaired"), ("untested", "dead", "dead")],
)  # fmt: skip
def test_harm_makes_no_status_better(before, harm, after):
    faults = (Fault(function="lens", status=before), Fault(function="fan", status="dead"))
    breaks = PlanAction(name="x", functions=("fan",), harms=(Harm(functions=("lens",), chance=0.5, status=harm),))
    lens = Layout(problem_of(breaks, faults=faults)).functions["lens"]
    code = lens.harmed(np.zeros(1, dtype=np.int64), harm)
    assert lens.statuses[int(lens.digit.of(code)[0])] == after
