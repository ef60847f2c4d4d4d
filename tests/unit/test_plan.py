"""What a plan says: its tree, its gain and how sure that is, and a verdict on every action."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from pricing.decisions.plan import Planner
from pricing.errors import BadInput
from pricing.records.plan import Cause, Fault, Harm, PlanAction, PlanExit, RepairProblem
from tests.random_repairs import Market, net_of, random_problem

WHOLE, DEAD = 100.0, 40.0
FAN = Fault(function="fan", status="dead")


def as_it_is(price):
    return price


def by_fan_and_lamp(goods):
    found = [WHOLE if each.statuses["fan"] == "works" else DEAD for each in goods]
    return np.array(found) * np.array([0.5 if each.statuses.get("lamp") == "dead" else 1 for each in goods])


def fan_repair(**more):
    return PlanAction(**{"name": "new fan", "functions": ("fan",), "cost": 20, "success": 0.7} | more)


def planner_of(*actions, exits=(), faults=(FAN,), price=by_fan_and_lamp, net=as_it_is, **more):
    problem = RepairProblem(currency="EUR", faults=faults, actions=actions, exits=exits, **more)
    return Planner(problem, price, net)


def leaves(node, chance=1.0):
    if not node.outcomes:
        yield node, chance
    for outcome in node.outcomes:
        yield from leaves(outcome.then, chance * outcome.chance)


def test_a_plan_names_its_first_action_and_its_gain():
    plan = planner_of(fan_repair()).plan()
    assert (plan.first, plan.now, plan.states) == ("new fan", "stop", 3)
    assert plan.value.amount == Decimal("62.00")
    assert plan.gain.amount == Decimal("22.00")
    report = plan.actions[0]
    assert report.gain_if_first == plan.gain
    assert report.adds == plan.gain
    assert report.break_even == pytest.approx(1 / 3)
    assert report.verdict == "done first"
    assert plan.knowing[0].worth.amount == Decimal("6.00")


def test_the_tree_says_what_follows_with_its_chance():
    tree = planner_of(fan_repair()).plan().tree
    assert [(o.words, o.chance, o.then.do) for o in tree.outcomes] == [
        ("works", pytest.approx(0.7), "stop"), ("fails", pytest.approx(0.3), "stop"),
    ]  # fmt: skip
    assert [o.then.value.amount for o in tree.outcomes] == [Decimal("100.00"), Decimal("40.00")]


def test_the_value_of_each_place_is_the_mean_of_what_follows_less_its_cost():
    rng = np.random.default_rng(8)
    for _ in range(40):
        problem, market = random_problem(rng), Market(rng)
        plan = Planner(problem, market.prices, net_of).plan()
        assert sum(chance for _, chance in leaves(plan.tree)) == pytest.approx(1)
        if plan.tree.outcomes:
            action = next(a for a in problem.actions if a.name == plan.first)
            paid = float(action.cost) + float(problem.hour_cost) * action.minutes / 60
            back = sum(o.chance for o in plan.tree.outcomes if o.words.startswith("dead on"))
            paid -= back * float(action.cost) * action.doa_refund
            onward = sum(o.chance * float(o.then.value.amount) for o in plan.tree.outcomes)
            assert float(plan.value.amount) == pytest.approx(onward - paid, abs=0.02)


def test_a_tree_is_cut_where_it_gets_too_large_and_says_so():
    names = [f"f{number}" for number in range(8)]
    planner = planner_of(
        *(PlanAction(name=n, functions=(n,), cost=1, success=0.6) for n in names),
        faults=tuple(Fault(function=n, status="dead") for n in names),
        price=lambda goods: np.array([10 * 2.0 ** list(g.statuses.values()).count("works") for g in goods]),
    )
    ends = list(leaves(planner.plan().tree))
    assert any(node.do == "..." and node.kind is None for node, _ in ends)
    assert sum(chance for _, chance in ends) == pytest.approx(1)


def test_what_cannot_be_done_stays_out_of_the_plan_and_says_why():
    plan = planner_of(fan_repair(available=False, why_not="sold nowhere on 2026-03-01")).plan()
    assert plan.first == "stop"
    assert plan.actions[0].verdict == "cannot be done: sold nowhere on 2026-03-01"
    assert plan.actions[0].gain_if_first is None


def test_a_risky_repair_is_refused_because_of_what_it_may_break():
    lamp = Harm(functions=("lamp",), chance=0.6)
    plan = planner_of(fan_repair(harms=(lamp,))).plan()
    assert plan.first == "stop"
    verdict = plan.actions[0].verdict
    assert "may break (lamp, 60.0%)" in verdict
    assert "22.00 EUR" in verdict


def test_a_repair_that_needs_better_odds_says_which():
    report = planner_of(fan_repair(success=0.2)).plan().actions[0]
    assert "needs a chance of success of 33.3%, and has 20.0%" in report.verdict


def test_ways_to_end_beside_a_sale_are_weighed():
    parts = PlanExit(name="parts", kind="parts", net=Decimal(50), by_function={"fan": Decimal(5)})
    plan = planner_of(fan_repair(cost=70), exits=(parts,)).plan()
    assert (plan.first, plan.now, plan.value.amount) == ("parts", "parts", Decimal("50.00"))
    assert plan.tree.kind == "parts"


def test_waiting_costs_the_fall_in_price():
    quick, slow = (planner_of(fan_repair(lead_days=d), daily_fall=0.01).plan().value.amount for d in (0, 10))
    assert float(slow) == pytest.approx((float(quick) + 20) * 0.99**10 - 20, abs=0.01)


def test_a_diagnosis_is_worth_what_it_saves():
    causes = (Cause(name="motor", chance=0.5), Cause(name="board", chance=0.5))
    fault = Fault(function="fan", status="dead", causes=causes)
    repair = fan_repair(cost=30, success_by_cause={"motor": 1.0, "board": 0.0})
    look = PlanAction(name="look", kind="diagnose", functions=("fan",), cost=4, opens=False)
    plan = planner_of(repair, look, faults=(fault,)).plan()
    assert plan.first == "look"
    assert plan.gain.amount == Decimal("11.00")  # 0.5 * (60 - 30) - 4
    assert plan.knowing[0].about == "what lies behind fan"
    assert plan.knowing[0].worth.amount == Decimal("4.00")  # 15 against 11
    assert {outcome.words for outcome in plan.tree.outcomes} == {"motor", "board"}


def test_the_spread_of_a_plan_is_that_of_its_draws_and_of_the_luck_of_the_repair():
    rng = np.random.default_rng(3)
    shared = np.exp(0.2 * rng.standard_normal((4000, 1)))
    planner = planner_of(fan_repair())
    spread = planner.plan(lambda goods: by_fan_and_lamp(goods) * shared).spread
    gain = 0.7 * 60 * shared - 20
    assert float(spread.gain_low.amount) == pytest.approx(np.quantile(gain, 0.1), abs=0.01)
    assert float(spread.gain_high.amount) == pytest.approx(np.quantile(gain, 0.9), abs=0.01)
    assert spread.worse == pytest.approx(0.3 + 0.7 * np.mean(60 * shared < 20), abs=1e-9)
    assert float(spread.result_low.amount) == pytest.approx(-20.0)
    assert spread.draws == 4000


def test_a_refund_is_part_of_the_gain_in_the_mean():
    certain = np.ones((50, 1))
    repair = fan_repair(success=1.0, doa_share=0.25, doa_refund=1.0)
    plan = planner_of(repair).plan(lambda goods: by_fan_and_lamp(goods) * certain)
    assert plan.gain.amount == Decimal("30.00")  # 0.75 * (60 - 20)
    assert plan.spread.gain_low.amount == plan.spread.gain_high.amount == Decimal("30.00")
    assert plan.spread.worse == 0
    assert plan.states == 3


def test_a_plan_that_ends_at_once_is_never_worse_than_ending_at_once():
    spread = planner_of(fan_repair(cost=90)).plan(lambda goods: by_fan_and_lamp(goods) * np.ones((50, 1))).spread
    assert spread.worse == 0
    assert spread.gain_low.amount == spread.result_high.amount == 0


def test_a_plan_with_very_many_actions_is_refused_without_filling_the_memory():
    faults = tuple(Fault(function=f"f{number}", status="dead") for number in range(3))
    actions = (fan_repair(name=f"{f.function} {n}", functions=(f.function,)) for f in faults for n in range(18))
    with pytest.raises(BadInput, match="more than 500,000 states of 54"):
        planner_of(*actions, faults=faults)


def test_too_many_states_are_refused_with_their_count():
    names = [f"f{number}" for number in range(11)]
    with pytest.raises(BadInput, match=r"177,147 states of 11 possible actions"):
        planner_of(*(fan_repair(name=n, functions=(n,)) for n in names), faults=tuple(
            Fault(function=n, status="dead") for n in names))  # fmt: skip
