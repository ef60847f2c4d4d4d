"""Random small repair problems with a price for each thing that the unit may become."""

from __future__ import annotations

from decimal import Decimal

import numpy as np

from pricing.decisions.plan_states import Goods
from pricing.records.plan import Cause, Fault, Harm, PlanAction, PlanExit, RepairProblem

FUNCTIONS = ("lamp", "fan", "lens")
SHARE = {"works": 1.0, "untested": 0.85, "impaired": 0.75, "dead": 0.6, "removed": 0.65}


def random_problem(rng: np.random.Generator) -> RepairProblem:
    """Return one to three faults, up to four actions of all kinds, and up to two other ways to end."""
    names = FUNCTIONS[: int(rng.integers(1, 4))]
    faults = tuple(random_fault(rng, name) for name in names)
    actions = tuple(random_action(rng, number, faults) for number in range(int(rng.integers(1, 5))))
    exits = tuple(
        PlanExit(name=kind, kind=kind, net=cents(rng, -10, 60),
                 by_function={names[0]: cents(rng, 0, 20)} if rng.random() < 0.5 else {})
        for kind in ("parts", "recycle")[: int(rng.integers(0, 3))]
    )  # fmt: skip
    return RepairProblem(
        currency="EUR", faults=faults, actions=actions, exits=exits, hour_cost=cents(rng, 0, 12),
        daily_fall=float(rng.choice([0.0, 0.01])),
    )  # fmt: skip


def random_fault(rng: np.random.Generator, name: str) -> Fault:
    status = str(rng.choice(["impaired", "dead", "untested"]))
    if rng.random() < 0.5:
        return Fault(function=name, status=status)
    first = round(float(rng.uniform(0.1, 0.9)), 3)
    told = (None, None) if status != "untested" else ("works", "dead")
    causes = (
        Cause(name="joint", chance=first, status=told[0]),
        Cause(name="board", chance=1 - first, status=told[1]),
    )
    return Fault(function=name, status=status, causes=causes)


def random_action(rng: np.random.Generator, number: int, faults: tuple[Fault, ...]) -> PlanAction:
    fault = faults[int(rng.integers(len(faults)))]
    kind = str(rng.choice(["repair", "repair", "repair", "remove", "diagnose" if fault.causes else "repair"]))
    fields = {
        "name": f"{kind} {number}", "kind": kind, "functions": (fault.function,), "cost": cents(rng, 0, 12),
        "minutes": float(rng.integers(0, 60)), "lead_days": float(rng.integers(0, 9)),
        "opens": bool(rng.random() < 0.7),
    }  # fmt: skip
    if rng.random() < 0.4:
        broken = str(rng.choice([*(f.function for f in faults), "shell"]))
        harm = Harm(functions=(broken,), chance=float(rng.uniform(0, 0.4)), status=rng.choice(["dead", "impaired"]))
        fields["harms"] = (harm,)
    if kind == "repair":
        fields |= {"part": "part", "success": float(rng.uniform(0.05, 1)), "retry": float(rng.uniform(0.2, 1))}
        if fault.causes and rng.random() < 0.7:
            fields["success_by_cause"] = {cause.name: float(rng.uniform(0, 1)) for cause in fault.causes}
        if rng.random() < 0.3:
            fields |= {"doa_share": float(rng.uniform(0, 0.3)), "doa_refund": float(rng.choice([0.0, 1.0]))}
        fields["attempts"] = int(rng.choice([1, 1, 1, 2]))
    return PlanAction(**fields)


def cents(rng: np.random.Generator, low: int, high: int) -> Decimal:
    return Decimal(int(rng.integers(100 * low, 100 * high + 1))) / 100


class Market:
    """A price for every state: a share for each status, less for an opened unit and for each part of another make."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.whole = float(rng.uniform(50, 250))
        self.power = float(rng.uniform(0.5, 2.0))

    def price(self, statuses: dict[str, str], done: tuple[str, ...], opened: bool) -> float:
        share = np.prod([SHARE[status] ** self.power for status in statuses.values()])
        return float(self.whole * share * (0.97 if opened else 1.0) * 0.98 ** len(done))

    def prices(self, goods: tuple[Goods, ...]) -> np.ndarray:
        return np.array([self.price(dict(g.statuses), g.done, g.opened) for g in goods])


def net_of(price):
    """Net proceeds with a fee that has a floor: not proportional to the price."""
    return price - np.maximum(0.12 * price, 6.0)
