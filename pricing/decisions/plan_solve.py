"""The best plan by backward induction, and what it says when a chance of success is another.

With spent(s) and days(s) of a state s known from its digits, the value of being there is::

    V(s) = max( max over ends e of    net_e(s) - spent(s),
                max over actions a of sum_b P(b | s, a) (V(s after b) + back_b) )

in money, everything paid on the way included; back_b is the refund for a part that is dead on arrival. Ends win ties:
no work for nothing. What was spent before a state is the same in all that may follow, so it never speaks for going on.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pricing.decisions.plan_states import Goods, Move, StateGraph, branch_chances, branch_refunds, build_states
from pricing.records.plan import Cause, Fault, PlanAction, PlanExit, RepairProblem
from pricing.records.sales_table import FloatArray

NetOf = Callable[[FloatArray], FloatArray]
_TIE = 1e-9
_HALVINGS = 50
_MOST_STEPS = 60


@dataclass(frozen=True, eq=False)
class Ends:
    """What each way to end brings, after what was spent.

    Attributes:
        exits: The ways; the first is the sale as it stands.
        nets: shape (ends, states), money.
    """

    exits: tuple[PlanExit | None, ...]
    nets: FloatArray


@dataclass(frozen=True, eq=False)
class Policy:
    """The best plan.

    Attributes:
        values: V, shape (states,).
        choice: shape (states,): number of the action to do; -1 - e: end in way e.
    """

    values: FloatArray
    choice: NDArray[np.int64]


def ends_of(graph: StateGraph, prices: FloatArray, net_of: NetOf) -> Ends:
    """Return what ending brings in each state.

    Args:
        graph: The states.
        prices: Expected price of each of ``graph.goods`` today, shape (goods,).
        net_of: Net proceeds of prices, elementwise.
    """
    problem = graph.layout.problem
    exits = problem.exits
    nets = np.empty((1 + len(exits), graph.states))
    nets[0] = net_of(fallen(graph, prices[graph.goods_of_state])) - graph.spent
    for number, way in enumerate(exits, start=1):
        by_goods = np.array([exit_net(way, goods) for goods in graph.goods])
        nets[number] = by_goods[graph.goods_of_state] - graph.spent
    return Ends((None, *exits), nets)


def exit_net(way: PlanExit, goods: Goods) -> float:
    """Return what a way to end brings for the goods as they are."""
    worth = [amount for name, amount in way.by_function.items() if goods.statuses[name] == "works"]
    return float(sum(worth, start=way.net))


def fallen(graph: StateGraph, prices: FloatArray) -> FloatArray:
    """Return prices of today as they are after the days waited in each state; the last axis is that of states."""
    return np.asarray(prices * (1 - graph.layout.problem.daily_fall) ** graph.days)


class Solver:
    """Solves one problem again and again with other chances of success.

    Attributes:
        graph: The states.
        ends: What ending brings.
    """

    def __init__(self, graph: StateGraph, ends: Ends) -> None:
        self.graph = graph
        self.ends = ends
        self._best_end = np.argmax(ends.nets, axis=0)
        self._end_value = np.max(ends.nets, axis=0)
        self._chances = {id(move): branch_chances(graph, move, graph.layout.actions) for move in self._moves()}

    def _moves(self) -> list[Move]:
        return [move for layer in self.graph.moves for move in layer]

    def chances(self, move: Move, actions: tuple[PlanAction, ...] | None = None) -> FloatArray:
        """Return the chance of each branch, shape (branches, rows), with the problem's actions or changed ones."""
        known = self.graph.layout.actions
        if actions is None:
            return self._chances[id(move)]
        same = all(
            mine is theirs or not set(mine.functions) & set(known[move.action].functions)
            for mine, theirs in zip(known, actions, strict=True)
        )
        return self._chances[id(move)] if same else branch_chances(self.graph, move, actions)

    def solve(self, actions: tuple[PlanAction, ...] | None = None, without: int | None = None) -> Policy:
        """Return the best plan.

        Args:
            actions: The layout's actions with other chances of success; None: as they are.
            without: Number of an action that must not be used.
        """
        values = self._end_value.copy()
        choice = -1 - self._best_end
        for layer in reversed(self.graph.moves):
            for move in layer:
                if move.action == without:
                    continue
                going_on = self.value_of(move, values, actions)
                better = going_on > values[move.rows] + _TIE
                rows = move.rows[better]
                values[rows], choice[rows] = going_on[better], move.action
        return Policy(values, choice)

    def value_of(self, move: Move, values: FloatArray, actions: tuple[PlanAction, ...] | None = None) -> FloatArray:
        """Return the expected value of a move in each of its rows, shape (rows,)."""
        after = values[move.to] + branch_refunds(self.graph, move)
        return np.asarray((self.chances(move, actions) * after).sum(axis=0))

    def start_value(self, actions: tuple[PlanAction, ...] | None = None, without: int | None = None) -> float:
        """Return V of the unit as it is now; see ``solve``."""
        return float(self.solve(actions, without).values[0])

    def reached(self, policy: Policy) -> FloatArray:
        """Return the chance that the plan comes to each state, shape (states,)."""
        return self._flow(policy)[0]

    def refunded(self, policy: Policy) -> FloatArray:
        """Return the money that has come back on average on the way to each state reached, shape (states,)."""
        chance, back = self._flow(policy)
        return np.divide(back, chance, out=np.zeros_like(back), where=chance > 0)

    def _flow(self, policy: Policy) -> tuple[FloatArray, FloatArray]:
        """Return the chance to come to each state, and that chance times the refunds of those who do."""
        chance, back = np.zeros(self.graph.states), np.zeros(self.graph.states)
        chance[0] = 1.0
        for layer in self.graph.moves:
            for move in layer:
                chosen = policy.choice[move.rows] == move.action
                rows, to, shares = move.rows[chosen], move.to[:, chosen], self.chances(move)[:, chosen]
                np.add.at(chance, to, shares * chance[rows])
                refund = branch_refunds(self.graph, move)
                np.add.at(back, to, shares * (back[rows] + chance[rows] * refund))
        return chance, back

    def break_even(self, number: int) -> float | None:
        """Return the least chance of success at which the plan with the action beats the one without it.

        The value of the best plan is convex in the chance, and flat until the action is used at all. When a policy
        is linear in the chance, Newton's steps from certainty down reach the corner exactly; else it is halved in.
        None: not even the largest chance is enough.
        """
        action = self.graph.layout.actions[number]
        least = self.start_value(without=number)
        largest = 1 / max(action.success_by_cause.values(), default=1.0) if action.success_by_cause else 1.0
        unit = _mean_success(action, self.graph.layout.faults)
        if not np.isfinite(largest) or self.start_value(self._with(number, largest)) <= least + _TIE:
            return None
        linear = action.attempts == 1 and not action.success_by_cause
        scale = self._corner(number, least) if linear else self._halved(number, least, largest)
        return scale if linear else scale * unit

    def _corner(self, number: int, least: float) -> float:
        chance = 1.0
        for _ in range(_MOST_STEPS):
            policy = self.solve(self._with(number, chance))
            ahead = policy.values[0] - least
            if ahead <= _TIE:
                break
            slope = (policy.values[0] - self._follow(policy, self._with(number, 0.0))) / chance
            chance = max(chance - ahead / slope, 0.0)
        return float(chance)

    def _halved(self, number: int, least: float, largest: float) -> float:
        low, high = 0.0, largest
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            if self.start_value(self._with(number, middle)) > least + _TIE:
                high = middle
            else:
                low = middle
        return high

    def _with(self, number: int, scale: float) -> tuple[PlanAction, ...]:
        """Return the actions with one's chance of success set, or its chances by cause scaled."""
        actions = list(self.graph.layout.actions)
        actions[number] = with_success(actions[number], scale)
        return tuple(actions)

    def _follow(self, policy: Policy, actions: tuple[PlanAction, ...]) -> float:
        """Return what a plan brings from the start when chances are others than it was made for."""
        values = self._end_value.copy()
        for layer in reversed(self.graph.moves):
            for move in layer:
                chosen = policy.choice[move.rows] == move.action
                values[move.rows[chosen]] = self.value_of(move, values, actions)[chosen]
        return float(values[0])

    def worth_of_outcome(self, number: int) -> float | None:
        """Return what it is worth to know beforehand whether a repair will succeed.

        None where that is no single fact: several attempts, or a chance that hangs on the cause.
        """
        action = self.graph.layout.actions[number]
        if action.kind != "repair" or action.attempts > 1 or action.success_by_cause:
            return None
        sure = self.start_value(self._with(number, 1.0))
        lost = self.start_value(self._with(number, 0.0))
        known = action.success * sure + (1 - action.success) * lost
        return max(known - self.start_value(), 0.0)


def with_success(action: PlanAction, scale: float) -> PlanAction:
    """Return the action with another chance of success; chances by cause are scaled by it instead."""
    if action.success_by_cause:
        scaled = {name: min(1.0, chance * scale) for name, chance in action.success_by_cause.items()}
        return action.model_copy(update={"success_by_cause": scaled})
    return action.model_copy(update={"success": scale})


def _mean_success(action: PlanAction, faults: Mapping[str, Fault]) -> float:
    if not action.success_by_cause:
        return 1.0
    causes = [cause for name in action.functions if name in faults for cause in faults[name].causes]
    return sum(cause.chance * action.success_by_cause[cause.name] for cause in causes)


def first_success(action: PlanAction, faults: Mapping[str, Fault]) -> float:
    """Return the chance that the first attempt of a repair succeeds, given a good part."""
    return _mean_success(action, faults) if action.success_by_cause else action.success


def worth_of_cause(problem: RepairProblem, function: str, value_of: Callable[[RepairProblem], float]) -> float:
    """Return what it is worth to know what lies behind a fault before anything is done.

    Args:
        problem: The problem.
        function: Function whose fault has causes.
        value_of: Value of the best plan of a problem.
    """
    known = 0.0
    fault = next(fault for fault in problem.faults if fault.function == function)
    for cause in fault.causes:
        if cause.chance > 0:
            known += cause.chance * value_of(_with_cause(problem, fault, cause))
    return max(known - value_of(problem), 0.0)


def _with_cause(problem: RepairProblem, fault: Fault, true: Cause) -> RepairProblem:
    certain = tuple(
        cause.model_copy(update={"chance": 1.0 if cause.name == true.name else 0.0}) for cause in fault.causes
    )
    told = fault.model_copy(update={"status": true.status or fault.status, "causes": certain})
    faults = tuple(told if each.function == fault.function else each for each in problem.faults)
    return problem.model_copy(update={"faults": faults})


def start_value(problem: RepairProblem, price: Callable[[StateGraph], FloatArray], net_of: NetOf) -> float:
    """Return the value of the best plan; ``price`` gives the expected price of each of the graph's goods.

    Raises:
        BadInput: The problem has too many states.
    """
    graph = build_states(problem)
    return Solver(graph, ends_of(graph, price(graph), net_of)).start_value()
