"""The states that a repair problem can come to, and the moves between them.

Every action raises one count of attempts by one, so the states form layers: a move leads from one layer to the next.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pricing.decisions.plan_layout import CodeArray, Layout
from pricing.errors import BadInput, Problem
from pricing.records.plan import Harm, PlanAction, RepairProblem
from pricing.records.sales_table import FloatArray
from pricing.records.unit import Status

MOST_STATES = 60_000
_MOST_COUNTED = 500_000
_WAITING_SHARE = 4
PlaceArray = NDArray[np.intp]
BranchKind = Literal["works", "fails", "dead on arrival", "told", "removed"]


@dataclass(frozen=True)
class Branch:
    """One thing that may follow an action: its kind, the cause that is told, and what breaks beside it."""

    kind: BranchKind
    cause: int | None = None
    harm: Harm | None = None


@dataclass(frozen=True, eq=False)
class Move:
    """One action in all states of one layer that allow it.

    Attributes:
        action: Its number in the layout.
        rows: Places of those states.
        branches: What may follow.
        to: Places of the states that follow, shape (branches, rows).
    """

    action: int
    rows: PlaceArray
    branches: tuple[Branch, ...]
    to: PlaceArray


@dataclass(frozen=True, eq=False)
class Goods:
    """What the unit is at some point of a plan.

    Attributes:
        statuses: Function -> status, of every function that the problem can change.
        done: Actions that succeeded, as far as it matters beside the statuses.
        opened: Whether it was opened by an action.
        void: Actions tried whose opening leaves tests void.
    """

    statuses: dict[str, Status]
    done: tuple[str, ...] = ()
    opened: bool = False
    void: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class StateGraph:
    """All reachable states.

    Attributes:
        layout: How to read them.
        codes: shape (states,), layer by layer; the first is the unit as it is now.
        layers: For each layer its first place and the place after its last.
        moves: For each layer its moves.
    """

    layout: Layout
    codes: CodeArray
    layers: tuple[tuple[int, int], ...]
    moves: tuple[tuple[Move, ...], ...]

    @property
    def states(self) -> int:
        """How many states there are."""
        return len(self.codes)

    @cached_property
    def spent(self) -> FloatArray:
        """Money spent on the way to each state, shape (states,)."""
        return self.layout.spent(self.codes)

    @cached_property
    def days(self) -> FloatArray:
        """Days waited on the way to each state, shape (states,)."""
        return self.layout.days(self.codes)

    @cached_property
    def _goods(self) -> tuple[tuple[Goods, ...], PlaceArray]:
        keys = goods_keys(self.layout, self.codes)
        _, first, inverse = np.unique(keys, return_index=True, return_inverse=True)
        return tuple(goods_of(self.layout, self.codes[[place]]) for place in first), np.asarray(inverse, dtype=np.intp)

    @property
    def goods(self) -> tuple[Goods, ...]:
        """The different goods that a buyer may see."""
        return self._goods[0]

    @property
    def goods_of_state(self) -> PlaceArray:
        """Place in ``goods`` of each state, shape (states,)."""
        return self._goods[1]


def build_states(problem: RepairProblem, most: int = MOST_STATES) -> StateGraph:
    """Return all states that the problem can come to.

    Args:
        problem: The problem.
        most: More states than this are refused.

    Raises:
        BadInput: There are too many; the message has their count.
    """
    layout = Layout(problem)
    layers = None if layout.too_wide else _layers(layout, most)
    if layers is None:
        found = f"{_told_count(problem)} states of {len(layout.actions)} possible actions"
        expected = f"at most {most:,}: fewer repairs at a time, or those left out that do not pay on their own"
        wrong = Problem("plan", None, "actions", found, expected)
        raise BadInput(str(wrong), (wrong,))
    ends = np.cumsum([len(layer) for layer in layers]).tolist()
    starts = [0, *ends[:-1]]
    codes = np.concatenate(layers)
    moves: list[tuple[Move, ...]] = []
    for layer, start, end in zip(layers, starts, ends, strict=True):
        after = layers[len(moves) + 1] if len(moves) + 1 < len(layers) else layer[:0]
        moves.append(tuple(_moves(layout, layer, after, start, end)))
    return StateGraph(layout, codes, tuple(zip(starts, ends, strict=True)), tuple(moves))


def _layers(layout: Layout, most: int) -> list[CodeArray] | None:
    """Return the states by number of attempts, None when there are more than ``most``."""
    layers = [np.zeros(1, dtype=np.int64)]
    total = 1
    while len(layers[-1]):
        after = _next_layer(layout, layers[-1], most - total)
        if after is None:
            return None
        layers.append(after)
        total += len(after)
    return layers[:-1]


def _next_layer(layout: Layout, layer: CodeArray, most: int) -> CodeArray | None:
    """Return the states one attempt later, None when there are more than ``most``; memory is bounded by that too."""
    found, waiting = layer[:0], [layer[:0]]
    for number in range(len(layout.actions)):
        for _, codes in _followers(layout, number, layer[layout.possible(number, layer)]):
            waiting.append(codes)
            if sum(map(len, waiting)) > _WAITING_SHARE * most:
                found, waiting = np.unique(np.concatenate([found, *waiting])), []
                if len(found) > most:
                    return None
    found = np.unique(np.concatenate([found, *waiting]))
    return None if len(found) > most else found


def _moves(layout: Layout, layer: CodeArray, after: CodeArray, start: int, end: int) -> Iterator[Move]:
    for number in range(len(layout.actions)):
        rows = np.flatnonzero(layout.possible(number, layer))
        if not len(rows):
            continue
        branches, codes = zip(*_followers(layout, number, layer[rows]), strict=True)
        to = np.stack([end + np.searchsorted(after, code) for code in codes])
        yield Move(number, start + rows, tuple(branches), to)


def _followers(layout: Layout, number: int, codes: CodeArray) -> Iterator[tuple[Branch, CodeArray]]:
    """Yield each thing that may follow an action, with the states that follow."""
    harms: list[Harm | None] = [None, *(harm for harm in layout.actions[number].harms if harm.chance > 0)]
    for branch, after in _results(layout, number, layout.digits[number].tries.raised(codes)):
        for harm in harms:
            broken = after
            for name in harm.functions if harm is not None else ():
                assert harm is not None  # noqa: S101 - for the types alone
                broken = layout.functions[name].harmed(broken, harm.status)
            yield Branch(branch.kind, branch.cause, harm), broken


def _results(layout: Layout, number: int, tried: CodeArray) -> Iterator[tuple[Branch, CodeArray]]:
    action, digits = layout.actions[number], layout.digits[number]
    if action.kind == "diagnose":
        name = action.functions[0]
        for place, cause in enumerate(layout.faults[name].causes):
            told = layout.learnt[name].put(tried, place + 1)
            if cause.status is not None:
                told = layout.functions[name].put(told, cause.status)
            yield Branch("told", place), told
        return
    better = tried if digits.done is None else digits.done.raised(tried)
    for name in action.functions:
        better = layout.functions[name].put(better, "removed" if action.kind == "remove" else "works")
    yield Branch("removed" if action.kind == "remove" else "works"), better
    if action.kind == "repair":
        yield Branch("fails"), tried if digits.failures is None else digits.failures.raised(tried)
        if action.doa_share > 0:
            yield Branch("dead on arrival"), tried


def branch_chances(graph: StateGraph, move: Move, actions: tuple[PlanAction, ...]) -> FloatArray:
    """Return the chance of each branch of a move, shape (branches, rows); columns sum to 1.

    Args:
        graph: The states.
        move: One of its moves.
        actions: The layout's actions, perhaps with other chances of success.
    """
    action, codes = actions[move.action], graph.codes[move.rows]
    unharmed = 1 - sum(harm.chance for harm in action.harms)
    harm = np.array([unharmed if b.harm is None else b.harm.chance for b in move.branches])
    if action.kind == "diagnose":
        told = graph.layout.beliefs(action.functions[0], codes, actions)
        return np.asarray(harm[:, None] * np.stack([told[b.cause or 0] for b in move.branches]))
    success = graph.layout.success(move.action, codes, actions) if action.kind == "repair" else np.ones(len(codes))
    by_kind = {
        "works": (1 - action.doa_share) * success,
        "removed": success,
        "fails": (1 - action.doa_share) * (1 - success),
        "dead on arrival": np.full(len(codes), action.doa_share),
    }
    return np.asarray(harm[:, None] * np.stack([by_kind[b.kind] for b in move.branches]))


def branch_refunds(graph: StateGraph, move: Move) -> FloatArray:
    """Return what comes back in each branch of a move, in money, shape (branches, 1)."""
    action = graph.layout.actions[move.action]
    back = float(action.cost) * action.doa_refund
    return np.array([[back if branch.kind == "dead on arrival" else 0.0] for branch in move.branches])


def goods_keys(layout: Layout, codes: CodeArray) -> CodeArray:
    """Return a number for each state that is the same where a buyer sees the same goods, shape (states,)."""
    digits = [status.digit for status in layout.functions.values()]
    opened = np.zeros(len(codes), dtype=np.bool_)
    for action, its in zip(layout.actions, layout.digits, strict=True):
        tried = its.tries.of(codes) > 0
        opened |= tried & action.opens
        if its.done is not None and _shows(layout, action):
            digits.append(its.done)
        if action.voids:
            digits.append(its.tries)
    keys = np.zeros(len(codes), dtype=np.int64)
    for digit in digits:
        keys += digit.of(codes) * digit.weight
    return keys * 2 + opened


def goods_of(layout: Layout, code: CodeArray) -> Goods:
    """Return what the unit is in one state, given as an array of shape (1,)."""
    statuses = {name: digit.statuses[int(digit.digit.of(code)[0])] for name, digit in layout.functions.items()}
    pairs = list(zip(layout.actions, layout.digits, strict=True))
    tried = [action for action, its in pairs if its.tries.of(code)[0] > 0]
    done = tuple(a.name for a, its in pairs if its.done is not None and its.done.of(code)[0] and _shows(layout, a))
    void = tuple(action.name for action in tried if action.voids)
    return Goods(statuses, done, any(action.opens for action in tried), void)


def _shows(layout: Layout, action: PlanAction) -> bool:
    """Return whether it matters to a buyer that an action succeeded, beside the statuses that it left.

    It does when a part is in the unit, or when tests may be void: what was just repaired has been tried.
    """
    return action.part is not None or any(each.voids for each in layout.actions)


def count_states(problem: RepairProblem) -> int | None:
    """Return how many states the problem has, None when one group of faults alone has over 500,000.

    Groups of faults that share no action do not limit each other, so the counts of the groups multiply.
    """
    total = 1
    for group in _groups(problem):
        layout = Layout(group)
        layers = None if layout.too_wide else _layers(layout, _MOST_COUNTED)
        if layers is None:
            return None
        total *= sum(len(layer) for layer in layers)
    return total


def _told_count(problem: RepairProblem) -> str:
    count = count_states(problem)
    return f"more than {_MOST_COUNTED:,}" if count is None else f"{count:,}"


def _groups(problem: RepairProblem) -> list[RepairProblem]:
    """Return the problem in parts that share no function."""
    groups: list[tuple[set[str], list[PlanAction]]] = []
    for action in problem.actions:
        names = {*action.functions, *(name for harm in action.harms for name in harm.functions)}
        actions = [action]
        for known in [group for group in groups if group[0] & names]:
            names |= known[0]
            actions = [*known[1], *actions]
            groups.remove(known)
        groups.append((names, actions))
    return [
        RepairProblem(
            currency=problem.currency,
            faults=tuple(fault for fault in problem.faults if fault.function in names),
            actions=tuple(actions),
        )
        for names, actions in groups
    ]
