"""Where each fact of a repair problem stands in the number that a state is written as.

A state is one whole number of mixed radix. Its digits are: the status of each function that something may change; for
each action how often it was tried, how often it failed (where that matters later) and whether it succeeded; and for
each fault with causes what was learnt. Everything else (money spent, days waited, beliefs) follows from these digits.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pricing.records.plan import Fault, PlanAction, RepairProblem
from pricing.records.sales_table import BoolArray, FloatArray
from pricing.records.unit import Status

CodeArray = NDArray[np.int64]
_WIDEST = 2**62
# From the best to the worst: harm never makes a status better.
_RANK: Mapping[Status, int] = {"works": 0, "untested": 1, "impaired": 2, "dead": 3, "removed": 4, "not fitted": 5}


@dataclass(frozen=True)
class Digit:
    """One digit of a state's number: its weight and how many values it has."""

    weight: int
    radix: int

    def of(self, codes: CodeArray) -> CodeArray:
        """Return the digit of each state, shape (states,)."""
        return (codes // self.weight) % self.radix

    def put(self, codes: CodeArray, value: int | CodeArray) -> CodeArray:
        """Return the states with this digit set."""
        return codes + (value - self.of(codes)) * self.weight

    def raised(self, codes: CodeArray) -> CodeArray:
        """Return the states with this digit one higher."""
        return codes + self.weight


@dataclass(frozen=True, eq=False)
class StatusDigit:
    """The digit of a function's status; value 0 is the status that it has now."""

    digit: Digit
    statuses: tuple[Status, ...]

    def among(self, codes: CodeArray, *statuses: Status) -> BoolArray:
        """Return where the status is one of these, shape (states,)."""
        values = [place for place, status in enumerate(self.statuses) if status in statuses]
        return np.isin(self.digit.of(codes), values)

    def put(self, codes: CodeArray, status: Status) -> CodeArray:
        """Return the states with this status."""
        return self.digit.put(codes, self.statuses.index(status))

    def harmed(self, codes: CodeArray, status: Status) -> CodeArray:
        """Return the states with this status where it is worse than what was there."""
        better = [s for s in self.statuses if _RANK[s] < _RANK[status]]
        return np.where(self.among(codes, *better), self.put(codes, status), codes)


@dataclass(frozen=True)
class ActionDigits:
    """Digits of one action: attempts, those that failed (None: not kept), and whether it succeeded."""

    tries: Digit
    failures: Digit | None
    done: Digit | None


class Layout:
    """The digits of a problem; only actions that can be done have any.

    Attributes:
        problem: The problem.
        actions: Those that can be done, in the problem's order.
        faults: Function -> its fault.
        functions: Function -> digit of its status.
        digits: As many as actions.
        learnt: Function -> digit of the cause that was told, 0 for none; only where something tells it.
        size: Product of all radices; states are numbers below it.
    """

    def __init__(self, problem: RepairProblem) -> None:
        self.problem = problem
        self.actions = tuple(action for action in problem.actions if action.available)
        self.faults: dict[str, Fault] = {fault.function: fault for fault in problem.faults}
        self.size = 1
        self.functions = {name: self._status_digit(name) for name in self._touched()}
        self.digits = tuple(self._action_digits(action) for action in self.actions)
        told = {action.functions[0] for action in self.actions if action.kind == "diagnose"}
        self.learnt = {name: self._take(len(self.faults[name].causes) + 1) for name in self.faults if name in told}

    @property
    def too_wide(self) -> bool:
        """Whether a state does not fit into 62 bits."""
        return self.size > _WIDEST

    def _take(self, radix: int) -> Digit:
        digit = Digit(self.size, radix)
        self.size *= radix
        return digit

    def _touched(self) -> list[str]:
        harmed = [name for action in self.actions for harm in action.harms for name in harm.functions]
        return list(dict.fromkeys([*self.faults, *harmed]))

    def _status_digit(self, name: str) -> StatusDigit:
        statuses: list[Status] = [self.faults[name].status if name in self.faults else "works"]
        for action in self.actions:
            if name in action.functions and action.kind == "repair":
                statuses.append("works")
            if name in action.functions and action.kind == "remove":
                statuses.append("removed")
            if name in action.functions and action.kind == "diagnose":
                statuses += [cause.status for cause in self.faults[name].causes if cause.status is not None]
            statuses += [harm.status for harm in action.harms if name in harm.functions and harm.chance > 0]
        distinct = tuple(dict.fromkeys(statuses))
        return StatusDigit(self._take(len(distinct)), distinct)

    def _action_digits(self, action: PlanAction) -> ActionDigits:
        tries = self._take(action.attempts + 1)
        if action.kind != "repair":
            return ActionDigits(tries, None, None)
        uncertain = any(self.faults[name].causes for name in action.functions if name in self.faults)
        failures = self._take(action.attempts + 1) if action.attempts > 1 or uncertain else None
        return ActionDigits(tries, failures, self._take(2))

    @cached_property
    def costs(self) -> FloatArray:
        """What an attempt of each action costs in parts and bench time, shape (actions,)."""
        hour = float(self.problem.hour_cost)
        return np.array([float(a.cost) + hour * a.minutes / 60 for a in self.actions], dtype=np.float64)

    def spent(self, codes: CodeArray) -> FloatArray:
        """Return the money spent on the way to each state, refunds not taken off, shape (states,)."""
        total = np.zeros(len(codes))
        for digits, cost in zip(self.digits, self.costs, strict=True):
            total += cost * digits.tries.of(codes)
        return total

    def days(self, codes: CodeArray) -> FloatArray:
        """Return the days waited on the way to each state, shape (states,)."""
        total = np.zeros(len(codes))
        for action, digits in zip(self.actions, self.digits, strict=True):
            total += action.lead_days * digits.tries.of(codes)
        return total

    def possible(self, number: int, codes: CodeArray) -> BoolArray:
        """Return in which states an action can be done, shape (states,)."""
        action, digits = self.actions[number], self.digits[number]
        open_to = digits.tries.of(codes) < action.attempts
        if digits.done is not None:
            open_to &= digits.done.of(codes) == 0
        wanted = np.zeros(len(codes), dtype=np.bool_)
        for name in action.functions:
            status = self.functions[name]
            if action.kind == "repair":
                wanted |= ~status.among(codes, "works")
            else:
                wanted |= status.among(codes, *({"impaired", "dead"} if action.kind == "remove" else _RANK.keys()))
        if action.kind == "diagnose":
            name = action.functions[0]
            wanted &= ~self.functions[name].among(codes, "works", "removed") & (self.learnt[name].of(codes) == 0)
        return open_to & wanted

    def beliefs(self, name: str, codes: CodeArray, actions: tuple[PlanAction, ...]) -> FloatArray:
        """Return the chance of each cause of a fault after all that was tried, shape (causes, states).

        An attempt that failed speaks against the causes under which it should have worked (Bayes' rule).

        Args:
            name: The function.
            codes: The states.
            actions: The layout's actions, perhaps with other chances of success.
        """
        causes = self.faults[name].causes
        weights = np.repeat(np.array([[cause.chance] for cause in causes], dtype=np.float64), len(codes), axis=1)
        for action, digits in zip(actions, self.digits, strict=True):
            if digits.failures is None or name not in action.functions or not action.success_by_cause:
                continue
            failures = digits.failures.of(codes)
            for place, cause in enumerate(causes):
                weights[place] *= _all_failed(action.success_by_cause[cause.name], action.retry, failures)
        total = weights.sum(axis=0)
        shares: FloatArray = np.divide(weights, total, out=np.zeros_like(weights), where=total > 0)
        if name in self.learnt:
            told = self.learnt[name].of(codes)
            for place in range(len(causes)):
                shares[:, told == place + 1] = np.eye(len(causes))[:, [place]]
        return shares

    def success(self, number: int, codes: CodeArray, actions: tuple[PlanAction, ...]) -> FloatArray:
        """Return the chance that an action succeeds with a good part, shape (states,); ``actions`` as above."""
        action, failures = actions[number], self.digits[number].failures
        chance: FloatArray = np.full(len(codes), action.success)
        if action.success_by_cause:
            name = next(n for n in action.functions if n in self.faults and self.faults[n].causes)
            by_cause = [action.success_by_cause[cause.name] for cause in self.faults[name].causes]
            chance = np.asarray(np.array(by_cause) @ self.beliefs(name, codes, actions))
        return chance if failures is None else np.asarray(chance * action.retry ** failures.of(codes))


def _all_failed(success: float, retry: float, failures: CodeArray) -> FloatArray:
    """Return the chance that so many attempts all failed, the k-th succeeding with success * retry ** k."""
    single = 1 - success * retry ** np.arange(int(failures.max(initial=0)))
    return np.asarray(np.concatenate([[1.0], np.cumprod(single)])[failures], dtype=np.float64)
