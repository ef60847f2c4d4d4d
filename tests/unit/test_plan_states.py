"""The states and moves of random problems: nothing missing, chances whole, counts right."""

from __future__ import annotations

import numpy as np
import pytest

from pricing.decisions.plan_states import branch_chances, build_states, count_states
from pricing.errors import BadInput
from pricing.records.plan import Cause, Fault, Harm, PlanAction, RepairProblem
from tests.random_repairs import random_problem


def graphs(count, seed=4):
    rng = np.random.default_rng(seed)
    return [build_states(random_problem(rng)) for _ in range(count)]


def test_chances_of_what_may_follow_sum_to_one():
    for graph in graphs(40):
        for move in (move for layer in graph.moves for move in layer):
            chances = branch_chances(graph, move, graph.layout.actions)
            assert (chances >= -1e-12).all()
            np.testing.assert_allclose(chances.sum(axis=0), 1.0)


def test_every_move_leads_from_one_layer_to_the_next_and_one_attempt_further():
    for graph in graphs(40):
        tries = sum((its.tries.of(graph.codes) for its in graph.layout.digits), start=np.zeros(graph.states, dtype=int))
        for number, (start, end) in enumerate(graph.layers):
            assert (tries[start:end] == number).all()
            for move in graph.moves[number]:
                assert ((move.rows >= start) & (move.rows < end)).all()
                assert (tries[move.to] == number + 1).all()


def test_every_state_but_the_first_is_led_to():
    for graph in graphs(40):
        led_to = {int(place) for layer in graph.moves for move in layer for place in move.to.ravel()}
        assert led_to == set(range(1, graph.states))


def test_the_count_by_groups_is_the_number_of_states():
    for graph in graphs(40):
        assert count_states(graph.layout.problem) == graph.states


def test_goods_are_told_apart_by_what_a_buyer_sees():
    harm = Harm(functions=("shell",), chance=0.1)
    problem = RepairProblem(
        currency="EUR",
        faults=(Fault(function="fan", status="dead"),),
        actions=(
            PlanAction(name="own", functions=("fan",), part="fan", origin="original", harms=(harm,)),
            PlanAction(name="cheap", functions=("fan",), part="fan", origin="third-party"),
            PlanAction(name="wipe", functions=("fan",), opens=False),
        ),
    )
    goods = {(g.statuses["fan"], g.statuses["shell"], g.done, g.opened) for g in build_states(problem).goods}
    assert ("dead", "works", (), False) in goods
    assert ("works", "works", (), False) in goods  # wiped, never opened
    assert {("works", "works", ("own",), True), ("works", "works", ("cheap",), True)} <= goods
    assert ("dead", "dead", (), True) in goods


def test_a_diagnosis_can_tell_that_an_untested_function_works():
    causes = (Cause(name="fine", chance=0.6, status="works"), Cause(name="worn", chance=0.4, status="dead"))
    problem = RepairProblem(
        currency="EUR",
        faults=(Fault(function="fan", status="untested", causes=causes),),
        actions=(PlanAction(name="try", kind="diagnose", functions=("fan",)),),
    )
    graph = build_states(problem)
    assert sorted(g.statuses["fan"] for g in graph.goods) == ["dead", "untested", "works"]


def test_a_limit_of_states_is_kept():
    problem = RepairProblem(
        currency="EUR",
        faults=tuple(Fault(function=name, status="dead") for name in "abcd"),
        actions=tuple(PlanAction(name=name, functions=(name,)) for name in "abcd"),
    )
    assert build_states(problem, most=81).states == 81
    with pytest.raises(BadInput, match="found 81 states of 4 possible actions; expected at most 80"):
        build_states(problem, most=80)
