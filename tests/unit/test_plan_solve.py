"""The planner against every policy there is, and what it says of other chances."""

from __future__ import annotations

import time

import numpy as np
import pytest

from pricing.decisions.plan import Planner
from pricing.decisions.plan_solve import Solver, ends_of
from pricing.decisions.plan_states import build_states
from pricing.records.plan import Fault, PlanAction, RepairProblem
from tests.policies import Referee
from tests.random_repairs import Market, net_of, random_problem

PROBLEMS = 300
MOST_POLICIES = 200_000


def solver_of(problem, prices, net=lambda price: price):
    graph = build_states(problem)
    return Solver(graph, ends_of(graph, prices(graph.goods), net))


def one_repair(chance=0.7, cost=30, **more):
    repair = PlanAction(name="new fan", functions=("fan",), cost=cost, success=chance, **more)
    return RepairProblem(currency="EUR", faults=(Fault(function="fan", status="dead"),), actions=(repair,))


def by_fan(goods):
    return np.array([100.0 if each.statuses["fan"] == "works" else 40.0 for each in goods])


def test_the_plan_equals_the_best_of_all_policies_on_300_random_problems_to_the_cent():
    rng = np.random.default_rng(20260310)
    solved, went_on, policies = 0, 0, 0
    while solved < PROBLEMS:
        problem, market = random_problem(rng), Market(rng)
        referee = Referee(problem, market.price, net_of)
        count = referee.policies(referee.start(), MOST_POLICIES)
        if count > MOST_POLICIES:
            continue
        policy = solver_of(problem, market.prices, net_of).solve()
        values = referee.values(referee.start())
        assert len(values) == count
        assert policy.values[0] == pytest.approx(values.max(), abs=0.005), problem
        solved += 1
        went_on += policy.choice[0] >= 0
        policies += count
    assert went_on > 120  # else the comparison would be one of ends alone
    assert policies > 100_000


def test_a_repair_breaks_even_where_its_expected_rise_is_its_cost():
    solver = solver_of(one_repair(), by_fan)
    assert solver.start_value() == pytest.approx(0.7 * 100 + 0.3 * 40 - 30)
    assert solver.break_even(0) == pytest.approx(30 / 60, abs=1e-12)


@pytest.mark.parametrize(("shift", "does"), [(1e-6, True), (-1e-6, False)])
def test_the_answer_changes_at_the_break_even_chance(shift, does):
    assert bool(solver_of(one_repair(0.5 + shift), by_fan).solve().choice[0] == 0) is does


def test_a_repair_that_costs_more_than_it_can_bring_has_no_break_even():
    assert solver_of(one_repair(cost=61), by_fan).break_even(0) is None


def test_the_break_even_of_random_plans_parts_use_from_no_use():
    rng = np.random.default_rng(5)
    checked = 0
    while checked < 30:
        problem, market = random_problem(rng), Market(rng)
        solver = solver_of(problem, market.prices, net_of)
        for number, action in enumerate(solver.graph.layout.actions):
            chance = solver.break_even(number) if action.kind == "repair" and not action.success_by_cause else None
            if chance is None or not 1e-6 < chance < 1 - 1e-6:
                continue
            without = solver.start_value(without=number)
            above, below = (solver.start_value(solver._with(number, chance + step)) for step in (1e-6, -1e-6))
            assert above > without
            assert below == pytest.approx(without, abs=1e-8)
            checked += 1


def test_a_second_attempt_is_worth_it_only_while_its_own_chance_pays():
    once = solver_of(one_repair(0.7, attempts=1), by_fan).start_value()
    again = solver_of(one_repair(0.7, attempts=2, retry=0.9), by_fan).start_value()
    hopeless = solver_of(one_repair(0.7, attempts=2, retry=0.5), by_fan).start_value()
    assert again == pytest.approx(once + 0.3 * (0.63 * 60 - 30))
    assert hopeless == pytest.approx(once)


def test_knowing_the_outcome_is_worth_what_the_wasted_part_costs():
    assert solver_of(one_repair(), by_fan).worth_of_outcome(0) == pytest.approx(0.3 * 30)


def test_chances_of_all_states_that_a_plan_ends_in_sum_to_one():
    rng = np.random.default_rng(2)
    for _ in range(30):
        market = Market(rng)
        solver = solver_of(random_problem(rng), market.prices, net_of)
        policy = solver.solve()
        ended = solver.reached(policy)[policy.choice < 0]
        assert ended.sum() == pytest.approx(1.0)


def test_ten_faults_with_ten_repairs_are_planned_in_two_seconds():
    names = [f"f{number}" for number in range(10)]
    problem = RepairProblem(
        currency="EUR",
        faults=tuple(Fault(function=name, status="dead") for name in names),
        actions=tuple(PlanAction(name=f"fix {name}", functions=(name,), part=name, cost=5, success=0.7)
                      for name in names),
    )  # fmt: skip

    def prices(goods):
        return np.array([30 * 1.3 ** list(each.statuses.values()).count("works") for each in goods])

    started = time.process_time()
    plan = Planner(problem, prices, net_of).plan(lambda goods: prices(goods) * np.ones((200, 1)))
    assert time.process_time() - started < 2.0
    assert plan.states == 3**10
    assert plan.gain.amount > 100
    assert all(report.break_even is not None for report in plan.actions)
