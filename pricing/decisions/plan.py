"""A plan for one unit: the first action, what it brings, how sure that is, and what each action is worth."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from pricing.decisions.plan_solve import NetOf, Solver, ends_of, first_success, worth_of_cause
from pricing.decisions.plan_spread import DrawGoods, plan_spread
from pricing.decisions.plan_states import Goods, StateGraph, build_states
from pricing.decisions.plan_tree import name_and_kind, plan_tree
from pricing.records.money import Money, money_from_float
from pricing.records.plan import ActionReport, Knowing, Plan, PlanAction, RepairProblem
from pricing.records.sales_table import FloatArray

PriceGoods = Callable[[Sequence[Goods]], FloatArray]
_CENT = 0.005
# Beyond this many states, what an action would add without its harm is not worked out: it doubles the work.
_MOST_ASIDE = 5_000


class Planner:
    """One problem with its prices, solved.

    Attributes:
        problem: The problem.
        solver: Its states and ends.
        policy: The best plan.
    """

    def __init__(self, problem: RepairProblem, price: PriceGoods, net_of: NetOf) -> None:
        self.problem = problem
        self._price = price
        self._net_of = net_of
        self.solver = self._solver(problem)
        self.policy = self.solver.solve()
        self._used = self._used_actions()

    def _solver(self, problem: RepairProblem) -> Solver:
        graph = build_states(problem)
        return Solver(graph, ends_of(graph, self._price(graph.goods), self._net_of))

    def _used_actions(self) -> set[int]:
        reached = self.solver.reached(self.policy) > 0
        return {int(number) for number in np.unique(self.policy.choice[reached]) if number >= 0}

    def plan(self, draw: DrawGoods | None = None, spent: Money | None = None, reasons: Sequence[str] = ()) -> Plan:
        """Return all that is to be told.

        Args:
            draw: Joint draws of the price of goods, shape (draws, goods); None: no intervals.
            spent: What was spent on the unit before, to be told only.
            reasons: More to be told.
        """
        nets = self.solver.ends.nets[:, 0]
        now = int(np.argmax(nets))
        value = float(self.policy.values[0])
        spread = None if draw is None else plan_spread(self.solver, self.policy, self._net_of, draw)
        return Plan(
            first=name_and_kind(self.solver, int(self.policy.choice[0]))[0],
            now=name_and_kind(self.solver, -1 - now)[0],
            now_net=self._money(float(nets[now])),
            value=self._money(value),
            gain=self._money(value - float(nets[now])),
            spread=spread,
            actions=tuple(self._report(action, float(nets[now])) for action in self.problem.actions),
            knowing=self._knowing(),
            tree=plan_tree(self.solver, self.policy),
            states=self.solver.graph.states,
            spent=spent,
            reasons=tuple(reasons),
        )

    def _money(self, amount: float) -> Money:
        return money_from_float(amount, self.problem.currency)

    def _report(self, action: PlanAction, now_net: float) -> ActionReport:
        report = ActionReport(name=action.name, kind=action.kind, available=action.available, why_not=action.why_not)
        if not action.available:
            return report.model_copy(update={"verdict": f"cannot be done: {action.why_not or 'no reason given'}"})
        layout = self.solver.graph.layout
        number = layout.actions.index(action)
        used = number in self._used
        adds = float(self.policy.values[0]) - self.solver.start_value(without=number) if used else 0.0
        repair = action.kind == "repair"
        chance = first_success(action, layout.faults) if repair else None
        break_even = self.solver.break_even(number) if repair else None
        at_first = self._value_if_first(number)
        found = {
            "chance": chance,
            "gain_if_first": None if at_first is None else self._money(at_first - now_net),
            "break_even": break_even,
            "adds": self._money(adds),
            "verdict": self._verdict(action, number, chance, break_even),
        }
        return report.model_copy(update=found)

    def _value_if_first(self, number: int) -> float | None:
        graph: StateGraph = self.solver.graph
        for move in graph.moves[0]:
            if move.action == number:
                return float(self.solver.value_of(move, self.policy.values)[0])
        return None

    def _verdict(self, action: PlanAction, number: int, chance: float | None, break_even: float | None) -> str:
        if self.policy.choice[0] == number:
            return "done first"
        if number in self._used:
            return "done later, where the plan comes to it"
        unharmed = self._gain_without_harm(action)
        if unharmed is not None and unharmed > _CENT:
            broken = ", ".join(name for harm in action.harms for name in harm.functions)
            risk = sum(harm.chance for harm in action.harms)
            added = self._money(unharmed)
            return (
                f"does not pay because of what it may break ({broken}, {risk:.1%}): "
                f"without that it would add {added.amount} {added.currency}"
            )
        if break_even is not None and chance is not None:
            return f"does not pay: it needs a chance of success of {break_even:.1%}, and has {chance:.1%}"
        return {
            "repair": "does not pay even if it were sure to succeed",
            "remove": "does not pay: the unit is worth no more without it",
            "diagnose": "does not pay: what it tells would not change enough",
        }[action.kind]

    def _gain_without_harm(self, action: PlanAction) -> float | None:
        """Return what an action would add if it could break nothing, None when it cannot anyway."""
        if not any(harm.chance > 0 for harm in action.harms) or self.solver.graph.states > _MOST_ASIDE:
            return None
        safe = action.model_copy(
            update={"harms": tuple(harm.model_copy(update={"chance": 0.0}) for harm in action.harms)}
        )
        actions = tuple(safe if each.name == action.name else each for each in self.problem.actions)
        changed = self.problem.model_copy(update={"actions": actions})
        return self._solver(changed).start_value() - float(self.policy.values[0])

    def _knowing(self) -> tuple[Knowing, ...]:
        found = []
        for fault in self.problem.faults:
            if fault.causes:
                worth = worth_of_cause(self.problem, fault.function, lambda each: self._solver(each).start_value())
                found.append(Knowing(about=f"what lies behind {fault.function}", worth=self._money(worth)))
        for number, action in enumerate(self.solver.graph.layout.actions):
            outcome = self.solver.worth_of_outcome(number)
            if outcome is not None:
                found.append(Knowing(about=f"whether {action.name} will succeed", worth=self._money(outcome)))
        return tuple(found)
