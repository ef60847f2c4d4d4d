"""Published examples of decisions under uncertainty, asked of the planner and of the search for the best box.

Pay-offs as found on course pages that quote them; expected values of perfect information by the textbook formula.
The reservation prices are those of Weitzman (1979), section 1, without discounting; costs 15 and 20 from memory.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import uniform

from pricing.decisions.plan_solve import Solver, ends_of, start_value, worth_of_cause
from pricing.decisions.plan_states import build_states
from pricing.decisions.reservation import Box, reservation_price, search_order, search_value
from pricing.errors import BadInput
from pricing.records.plan import Cause, Fault, PlanAction, RepairProblem

ALPHA = Box("alpha", 15, ((100, 0.5), (55, 0.5)))
OMEGA = Box("omega", 20, ((240, 0.2), (0, 0.8)))


def as_it_is(price):
    return price


def plant(small, large, chance):
    """Build one plant, small or large, before the market is known: (if favourable, if not), one decision only."""
    market = (Cause(name="favourable", chance=chance), Cause(name="unfavourable", chance=1 - chance))
    choices = {"small": small, "large": large}
    return RepairProblem(
        currency="USD",
        faults=(Fault(function="market", status="untested", causes=market),),
        actions=tuple(
            PlanAction(name=name, functions=("market",), part=name, cost=-lost,
                       success_by_cause={"favourable": 1.0, "unfavourable": 0.0})
            for name, (_, lost) in choices.items()
        ),
    )  # fmt: skip


def plant_prices(small, large):
    """What the plant brings before its cost, so that the net is the pay-off."""
    gross = {"small": small[0] - small[1], "large": large[0] - large[1]}
    return lambda graph: np.array([gross[goods.done[0]] if goods.done else 0.0 for goods in graph.goods])


@pytest.mark.parametrize(
    ("small", "large", "chance", "expected", "knowing"),
    [
        ((100_000, -20_000), (200_000, -180_000), 0.5, (40_000, 10_000), 60_000),
        ((100_000, -15_000), (420_000, -300_000), 0.4, (31_000, -12_000), 137_000),
    ],
)
def test_the_plant_decision_has_its_published_values(small, large, chance, expected, knowing):
    problem, prices = plant(small, large, chance), plant_prices(small, large)
    graph = build_states(problem)
    solver = Solver(graph, ends_of(graph, prices(graph), as_it_is))
    policy = solver.solve()
    alone = {graph.layout.actions[move.action].name: solver.value_of(move, policy.values)[0] for move in graph.moves[0]}
    assert alone == pytest.approx(dict(zip(("small", "large"), expected, strict=True)))
    assert policy.values[0] == pytest.approx(max(expected))
    known = worth_of_cause(problem, "market", lambda each: start_value(each, prices, as_it_is))
    assert known == pytest.approx(knowing)


def test_a_coin_that_pays_100_or_costs_80_is_worth_10_and_knowing_it_40():
    toss = PlanAction(name="toss", functions=("coin",), cost=80, success=0.5)
    problem = RepairProblem(currency="USD", faults=(Fault(function="coin", status="dead"),), actions=(toss,))
    graph = build_states(problem)
    won = np.array([180.0 if goods.statuses["coin"] == "works" else 0.0 for goods in graph.goods])
    solver = Solver(graph, ends_of(graph, won, as_it_is))
    assert solver.start_value() == pytest.approx(10)
    assert solver.worth_of_outcome(0) == pytest.approx(40)


def boxes_problem():
    """The two boxes as faults that nobody has looked at, each shown by a test; the better one is sold."""
    told = {"alpha": ("works", "impaired"), "omega": ("works", "dead")}
    return RepairProblem(
        currency="USD",
        faults=tuple(
            Fault(function=box.name, status="untested", causes=tuple(
                Cause(name=str(worth), chance=chance, status=status)
                for (worth, chance), status in zip(box.outcomes, told[box.name], strict=True)
            ))
            for box in (ALPHA, OMEGA)
        ),
        actions=tuple(PlanAction(name=f"open {box.name}", kind="diagnose", functions=(box.name,), cost=int(box.cost))
                      for box in (ALPHA, OMEGA)),
    )  # fmt: skip


def test_the_planner_opens_the_risky_box_first_as_weitzman_does():
    prize = {("alpha", "works"): 100, ("alpha", "impaired"): 55, ("omega", "works"): 240}
    graph = build_states(boxes_problem())
    best = np.array([max(prize.get(pair, 0) for pair in goods.statuses.items()) for goods in graph.goods], dtype=float)
    solver = Solver(graph, ends_of(graph, best, as_it_is))
    policy = solver.solve()
    first = {graph.layout.actions[move.action].name: solver.value_of(move, policy.values)[0] for move in graph.moves[0]}
    assert first == pytest.approx({"open omega": 78, "open alpha": 75})
    assert graph.layout.actions[policy.choice[0]].name == "open omega"


def test_reservation_prices_are_those_of_weitzman():
    assert reservation_price(ALPHA) == pytest.approx(70)
    assert reservation_price(OMEGA) == pytest.approx(140)
    assert [box.name for box, _ in search_order([ALPHA, OMEGA])] == ["omega", "alpha"]
    assert search_value([ALPHA, OMEGA]) == pytest.approx(78)
    assert search_value([ALPHA]) == pytest.approx(62.5)
    assert search_value([OMEGA]) == pytest.approx(28)
    assert search_value([ALPHA, OMEGA], in_hand=150) == 150


def test_a_fine_grid_of_a_uniform_box_has_the_closed_form():
    worths = uniform(0, 100).ppf((np.arange(4000) + 0.5) / 4000)
    box = Box("even", 2, tuple((float(worth), 1 / 4000) for worth in worths))
    assert reservation_price(box) == pytest.approx(100 - np.sqrt(2 * 2 * 100), abs=0.01)


def test_a_box_that_costs_more_than_it_holds_has_a_price_below_its_worst_content():
    assert reservation_price(Box("dear", 30, ((20, 0.5), (10, 0.5)))) == pytest.approx(-15)


@pytest.mark.parametrize(("cost", "outcomes"), [(1, ((5, 0.7), (1, 0.4))), (1, ((5, 1.2), (1, -0.2))), (-1, ((5, 1),))])
def test_chances_and_costs_that_cannot_be_are_refused(cost, outcomes):
    with pytest.raises(BadInput, match="a: found"):
        reservation_price(Box("a", cost, outcomes))
