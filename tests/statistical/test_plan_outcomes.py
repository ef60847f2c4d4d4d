"""Plans followed many times: what a plan promises is what happens on average, and as often as it says.

A unit with hidden causes is drawn, the plan is followed step by step with dice, and the money is counted by hand.
"""

from __future__ import annotations

import numpy as np
import pytest

from pricing.decisions.plan import Planner
from tests.random_repairs import Market, net_of, random_problem

RUNS = 4000


class World:
    """One unit whose causes are fixed; it answers to what is done to it."""

    def __init__(self, problem, market, rng):
        self.problem, self.market, self.rng = problem, market, rng
        harmed = [name for a in problem.actions for h in a.harms for name in h.functions]
        self.statuses = dict.fromkeys(harmed, "works") | {f.function: f.status for f in problem.faults}
        self.causes = {
            f.function: f.causes[rng.choice(len(f.causes), p=[c.chance for c in f.causes])]
            for f in problem.faults if f.causes
        }  # fmt: skip
        self.failures = dict.fromkeys((a.name for a in problem.actions), 0)
        self.spent, self.days, self.opened, self.done = 0.0, 0.0, False, []

    def do(self, action):
        """Do it, and return what is seen."""
        self.spent += float(action.cost) + float(self.problem.hour_cost) * action.minutes / 60
        self.days += action.lead_days
        self.opened |= action.opens
        seen = self._result(action)
        drawn = self.rng.random()
        for harm in action.harms:
            if drawn < harm.chance:
                rank = ("works", "untested", "impaired", "dead", "removed")
                for name in harm.functions:
                    self.statuses[name] = max(self.statuses[name], harm.status, key=rank.index)
                return f"{seen}, but {' and '.join(harm.functions)} now {harm.status}"
            drawn -= harm.chance
        return seen

    def _result(self, action):
        name = action.functions[0]
        if action.kind == "diagnose":
            cause = self.causes[name]
            self.statuses[name] = cause.status or self.statuses[name]
            return cause.name
        if action.kind == "remove":
            self.statuses[name] = "removed"
            return "removed"
        if self.rng.random() < action.doa_share:
            self.spent -= float(action.cost) * action.doa_refund
            return "dead on arrival"
        chance = action.success_by_cause[self.causes[name].name] if action.success_by_cause else action.success
        if self.rng.random() < chance * action.retry ** self.failures[action.name]:
            self.statuses[name] = "works"
            self.done.append(action.name)
            return "works"
        self.failures[action.name] += 1
        return "fails"

    def end(self, name, shock):
        """Return the net of ending so, with this unit's own luck on the market."""
        if name == "stop":
            price = self.market.price(self.statuses, tuple(self.done), self.opened)
            return net_of(shock * price * (1 - self.problem.daily_fall) ** self.days) - self.spent
        way = next(way for way in self.problem.exits if way.name == name)
        good = [float(worth) for function, worth in way.by_function.items() if self.statuses[function] == "works"]
        return float(way.net) + sum(good) - self.spent


def followed(plan, world, shock):
    node = plan.tree
    while node.outcomes:
        seen = world.do(next(a for a in world.problem.actions if a.name == node.do))
        node = next(outcome.then for outcome in node.outcomes if outcome.words == seen)
    return world.end(node.do, shock)


def plans_with_work(rng, count):
    while count:
        problem, market = random_problem(rng), Market(rng)
        shocks = np.exp(0.15 * rng.standard_normal((2000, 1)))
        planner = Planner(problem, market.prices, net_of)
        if planner.policy.choice[0] >= 0 and planner.solver.graph.states < 300:
            plan = planner.plan(lambda goods, market=market, shocks=shocks: market.prices(goods) * shocks)
            yield problem, market, plan, shocks
            count -= 1


@pytest.mark.parametrize("seed", range(4))
def test_a_plan_brings_what_it_promises_and_ends_worse_as_often_as_it_says(seed):
    rng = np.random.default_rng(seed)
    for problem, market, plan, shocks in plans_with_work(rng, 3):
        calm = np.array([followed(plan, World(problem, market, rng), 1.0) for _ in range(RUNS)])
        error = calm.std() / np.sqrt(RUNS)
        assert calm.mean() == pytest.approx(float(plan.value.amount), abs=4 * error + 0.01)
        drawn = shocks[rng.integers(0, len(shocks), RUNS), 0]
        ended = np.array([followed(plan, World(problem, market, rng), shock) for shock in drawn])
        now = np.array([World(problem, market, rng).end(plan.now, shock) for shock in drawn])
        refunds = any(a.doa_share and a.doa_refund for a in problem.actions)
        if not refunds:  # they enter each end as their mean, so the chance is then told only roughly
            worse = float((ended < now - 0.005).mean())
            assert worse == pytest.approx(plan.spread.worse, abs=4 * np.sqrt(0.25 / RUNS))
