"""A slow referee for repair plans: it walks through every policy there is, on the problem as it is written.

It shares nothing with the planner: it keeps statuses, money and days as it goes along, and instead of beliefs it
carries the weight of every combination of causes that may be true.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from itertools import product
from math import prod
from typing import Any

import numpy as np

from pricing.records.plan import PlanAction, RepairProblem

RANK = ("works", "untested", "impaired", "dead", "removed")
Price = Callable[[dict[str, str], tuple[str, ...], bool], float]


@dataclass(frozen=True)
class Point:
    """Where one walk stands; ``worlds`` holds the weight of each combination of causes."""

    statuses: dict[str, str]
    worlds: dict[tuple[str, ...], float]
    tries: dict[str, int] = field(default_factory=dict)
    failures: dict[str, int] = field(default_factory=dict)
    done: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    spent: float = 0.0
    days: float = 0.0
    opened: bool = False

    @property
    def weight(self) -> float:
        return sum(self.worlds.values())


class Referee:
    """Walks through all policies of one problem."""

    def __init__(self, problem: RepairProblem, price: Price, net_of: Callable[[float], float]) -> None:
        self.problem = problem
        self.price = price
        self.net_of = net_of
        self.faults = [fault for fault in problem.faults if fault.causes]

    def start(self) -> Point:
        harmed = [name for a in self.problem.actions for h in a.harms for name in h.functions]
        statuses = dict.fromkeys(harmed, "works") | {f.function: f.status for f in self.problem.faults}
        worlds = {}
        for causes in product(*(fault.causes for fault in self.faults)):
            worlds[tuple(cause.name for cause in causes)] = prod(cause.chance for cause in causes)
        return Point(statuses, worlds)

    def policies(self, point: Point, most: int) -> int:
        """How many policies there are from here; beyond ``most`` the count stops somewhere above it."""
        count = 1 + len(self.problem.exits)
        for action in self.open_to(point):
            ways = 1
            for after in self.after(point, action):
                ways *= self.policies(after, most // ways)
                if count + ways > most:
                    return count + ways
            count += ways
        return count

    def values(self, point: Point) -> np.ndarray:
        """The expected net of each policy from here, times the weight of being here."""
        found = [np.array(self.ends(point)) * point.weight]
        for action in self.open_to(point):
            total = np.zeros(1)
            for after in self.after(point, action):
                total = np.add.outer(total, self.values(after)).ravel()
            found.append(total)
        return np.concatenate(found)

    def ends(self, point: Point) -> list[float]:
        fitted = tuple(a.name for a in self.problem.actions if a.name in point.done)
        gross = self.price(point.statuses, fitted, point.opened) * (1 - self.problem.daily_fall) ** point.days
        nets = [self.net_of(gross)]
        for way in self.problem.exits:
            good = [float(w) for name, w in way.by_function.items() if point.statuses[name] == "works"]
            nets.append(float(way.net) + sum(good))
        return [net - point.spent for net in nets]

    def open_to(self, point: Point) -> Iterator[PlanAction]:
        for action in self.problem.actions:
            states = [point.statuses[name] for name in action.functions]
            fresh = point.tries.get(action.name, 0) < action.attempts and action.name not in point.done
            wanted = {
                "repair": any(state != "works" for state in states),
                "remove": any(state in ("impaired", "dead") for state in states),
                "diagnose": states[0] not in ("works", "removed") and action.functions[0] not in point.told,
            }[action.kind]
            if action.available and fresh and wanted:
                yield action

    def after(self, point: Point, action: PlanAction) -> Iterator[Point]:
        tried = replace(
            point,
            tries=point.tries | {action.name: point.tries.get(action.name, 0) + 1},
            spent=point.spent + float(action.cost) + float(self.problem.hour_cost) * action.minutes / 60,
            days=point.days + action.lead_days,
            opened=point.opened or action.opens,
        )
        for after, likelihood in self.results(tried, action):
            weighed = {world: w * likelihood(world) for world, w in point.worlds.items()}
            unharmed = (None, 1 - sum(harm.chance for harm in action.harms))
            for harm, chance in [unharmed, *((harm, harm.chance) for harm in action.harms)]:
                statuses = dict(after.statuses)
                for name in harm.functions if harm else ():
                    statuses[name] = max(statuses[name], harm.status, key=RANK.index)
                yield replace(after, statuses=statuses, worlds={w: v * chance for w, v in weighed.items()})

    def results(self, tried: Point, action: PlanAction) -> Iterator[tuple[Point, Any]]:
        if action.kind == "diagnose":
            place = [fault.function for fault in self.faults].index(action.functions[0])
            for cause in self.faults[place].causes:
                status = cause.status or tried.statuses[action.functions[0]]
                known = replace(tried, told=(*tried.told, action.functions[0]),
                                statuses=tried.statuses | {action.functions[0]: status})  # fmt: skip
                yield known, lambda world, name=cause.name: float(world[place] == name)
        elif action.kind == "remove":
            yield replace(tried, statuses=tried.statuses | dict.fromkeys(action.functions, "removed")), lambda _: 1.0
        else:
            yield from self.repaired(tried, action)

    def repaired(self, tried: Point, action: PlanAction) -> Iterator[tuple[Point, Any]]:
        failures = tried.failures.get(action.name, 0)
        good = 1 - action.doa_share
        place = next((k for k, fault in enumerate(self.faults) if fault.function in action.functions), None)

        def success(world: tuple[str, ...]) -> float:
            chance = action.success_by_cause[world[place]] if action.success_by_cause else action.success
            return chance * action.retry**failures

        works = tried.statuses | dict.fromkeys(action.functions, "works")
        yield replace(tried, statuses=works, done=(*tried.done, action.name)), lambda world: good * success(world)
        failed = replace(tried, failures=tried.failures | {action.name: failures + 1})
        yield failed, lambda world: good * (1 - success(world))
        if action.doa_share:
            refund = float(action.cost) * action.doa_refund
            yield replace(tried, spent=tried.spent - refund), lambda _: action.doa_share
