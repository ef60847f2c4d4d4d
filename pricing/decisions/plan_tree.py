"""A solved plan as a tree that a person can follow."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from heapq import heappop, heappush

import numpy as np

from pricing.decisions.plan_solve import Policy, Solver
from pricing.decisions.plan_states import Branch, Move
from pricing.records.money import money_from_float
from pricing.records.plan import STOP, ActionKind, ExitKind, PlanNode, PlanOutcome

MOST_NODES = 120
CUT = "..."
_IMPOSSIBLE = 1e-12


@dataclass
class _Point:
    """One place in the tree while it grows."""

    state: int
    reached: float
    after: list[tuple[float, str, _Point]] = field(default_factory=list)
    open: bool = True


def plan_tree(solver: Solver, policy: Policy, most: int = MOST_NODES) -> PlanNode:
    """Return the plan as a tree, the likeliest places first, cut where it has ``most`` places."""
    moves: dict[int, list[Move]] = {}
    for layer in solver.graph.moves:
        for move in layer:
            moves.setdefault(move.action, []).append(move)
    root = _Point(0, 1.0)
    queue: list[tuple[float, int, _Point]] = [(-1.0, 0, root)]
    places = 1
    while queue and places < most:
        _, _, point = heappop(queue)
        point.open = False
        action = int(policy.choice[point.state])
        if action < 0:
            continue
        for chance, words, state in _followed(solver, moves[action], point.state):
            below = _Point(state, point.reached * chance)
            point.after.append((chance, words, below))
            heappush(queue, (-below.reached, places, below))
            places += 1
    return _as_node(solver, policy, root)


def _followed(solver: Solver, moves: list[Move], state: int) -> Iterator[tuple[float, str, int]]:
    for move in moves:
        place = int(np.searchsorted(move.rows, state))
        if place == len(move.rows) or move.rows[place] != state:
            continue
        chances = solver.chances(move)[:, place]
        for number, branch in enumerate(move.branches):
            if chances[number] > _IMPOSSIBLE:
                yield float(chances[number]), _words(solver, move, branch), int(move.to[number, place])


def _words(solver: Solver, move: Move, branch: Branch) -> str:
    layout = solver.graph.layout
    said: str = branch.kind
    if branch.cause is not None:
        said = layout.faults[layout.actions[move.action].functions[0]].causes[branch.cause].name
    if branch.harm is None:
        return said
    return f"{said}, but {' and '.join(branch.harm.functions)} now {branch.harm.status}"


def name_and_kind(solver: Solver, choice: int) -> tuple[str, ActionKind | ExitKind]:
    """Return the name and kind of what a policy chooses: an action's number, or -1 less the number of an end."""
    if choice >= 0:
        action = solver.graph.layout.actions[choice]
        return action.name, action.kind
    way = solver.ends.exits[-1 - choice]
    return (STOP, "stop") if way is None else (way.name, way.kind)


def _as_node(solver: Solver, policy: Policy, point: _Point) -> PlanNode:
    graph = solver.graph
    # From here on: what was paid on the way is the same whatever is done now.
    onward = float(policy.values[point.state] + graph.spent[point.state])
    value = money_from_float(onward, graph.layout.problem.currency)
    choice = int(policy.choice[point.state])
    if point.open and choice >= 0:
        return PlanNode(do=CUT, kind=None, value=value, reached=point.reached)
    name, kind = name_and_kind(solver, choice)
    outcomes = tuple(
        PlanOutcome(chance=chance, words=words, then=_as_node(solver, policy, below))
        for chance, words, below in point.after
    )
    return PlanNode(do=name, kind=kind, value=value, reached=point.reached, outcomes=outcomes)
