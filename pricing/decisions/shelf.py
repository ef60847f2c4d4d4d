"""Plans for all units on the shelf together: parts on stock, donors, and the jobs of a week.

The stock is placed first (``stock``), then donors are sought for units with what they took from it.

A pair of taker T and giver G gains V(T with G's parts) + V(G without them) - V(T) - V(G), each V the value of the best
plan. Only units of one model can give to each other: all their group attributes are stated and the same.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np

from pricing.decisions.bench import Job, expected_hours, plan_week, ranked_jobs
from pricing.decisions.donors import best_pairs, pair_gains
from pricing.decisions.outlook import faulty_functions
from pricing.decisions.repair_notes import names_in
from pricing.decisions.repairs import RepairCase, repair_problem
from pricing.decisions.stock import placed_stock
from pricing.errors import PlainsaleError
from pricing.records.device_class import DeviceClass
from pricing.records.money import Money, money_from_float
from pricing.records.part_offer import PartOffer
from pricing.records.plan import Plan
from pricing.records.shelf import Donation, ShelfPlan, StockUse, UnitPlan, WeekJob
from pricing.records.stock import StockPart
from pricing.records.unit import FunctionTest, Unit, is_fitted, status_now

PlanOf = Callable[[RepairCase], Plan]


@dataclass(frozen=True)
class _Pair:
    """What a pair comes to."""

    plan: Plan
    parts: tuple[str, ...]
    gain: float


def plan_shelf(
    cases: Sequence[tuple[str, RepairCase]],
    plan_of: PlanOf,
    hours: float | None = None,
    stock: Sequence[StockPart] = (),
) -> ShelfPlan:
    """Return what to do with all units.

    A unit that cannot be planned says why, and does not keep the others from theirs.

    Args:
        cases: Number and case of each unit.
        plan_of: The best plan of a case.
        hours: Bench hours of the week; None: not limited.
        stock: Parts that lie there already, checked against the class.

    Raises:
        BadInput: The hours are below 0 or not a number.
    """
    units = [_planned(number, case, plan_of) for number, case in cases]
    cases, units, uses = _with_stock(cases, units, stock, plan_of)
    donations = _donations(cases, units, plan_of)
    jobs = _jobs(cases, units, donations)
    week = plan_week([job for job, _ in jobs], sum(job.hours for job, _ in jobs) if hours is None else hours)
    givers = {job.name: giver for job, giver in jobs}
    currency = cases[0][1].currency if cases else "XXX"
    return ShelfPlan(
        units=tuple(units),
        stock_uses=uses,
        donations=donations,
        jobs=tuple(
            WeekJob(
                number=job.name,
                with_parts_of=givers[job.name],
                from_stock=tuple(use.part for use in uses if use.number == job.name),
                gain=money_from_float(job.gain, currency),
                hours=job.hours,
                per_hour=money_from_float(job.per_hour, currency) if job.hours > 0 else None,
                chosen=job in week.chosen,
            )
            for job in ranked_jobs([job for job, _ in jobs])
        ),
        hours=hours,
        gain=money_from_float(week.gain, currency),
    )


def _planned(number: str, case: RepairCase, plan_of: PlanOf) -> UnitPlan:
    try:
        return UnitPlan(number=number, plan=plan_of(case))
    except PlainsaleError as error:
        return UnitPlan(number=number, refused=str(error))


def _with_stock(
    cases: Sequence[tuple[str, RepairCase]],
    units: Sequence[UnitPlan],
    stock: Sequence[StockPart],
    plan_of: PlanOf,
) -> tuple[list[tuple[str, RepairCase]], list[UnitPlan], tuple[StockUse, ...]]:
    """Return cases and plans with what the units take from the stock, and which pieces these are."""
    placing = placed_stock([case for _, case in cases], [unit.plan for unit in units], stock, plan_of)
    numbers = [number for number, _ in cases]
    uses = tuple(
        StockUse(
            number=numbers[each.unit],
            part=stock[each.row].part,
            line=stock[each.row].line,
            cost=stock[each.row].cost,
            given_up=stock[each.row].given_up,
            gain=money_from_float(each.gain, cases[each.unit][1].currency),
        )
        for each in placing.placed
    )
    plans = [unit.model_copy(update={"plan": plan}) for unit, plan in zip(units, placing.plans, strict=True)]
    return list(zip(numbers, placing.cases, strict=True)), plans, uses


def _donations(
    cases: Sequence[tuple[str, RepairCase]], units: Sequence[UnitPlan], plan_of: PlanOf
) -> tuple[Donation, ...]:
    found: dict[tuple[int, int], _Pair] = {}

    def gain_of(taker: int, giver: int) -> float | None:
        """Return the gain of a pair, None when it cannot be."""
        plans = units[taker].plan, units[giver].plan
        if plans[0] is None or plans[1] is None:
            return None
        alone = plans[0].value.amount + plans[1].value.amount
        pair = _pair(cases[taker][1], cases[giver], plan_of, alone)
        if pair is not None:
            found[taker, giver] = pair
        return None if pair is None else pair.gain

    everyone = range(len(cases))
    pairs = best_pairs(pair_gains(len(cases), gain_of, everyone, everyone)) if cases else ()
    return tuple(
        Donation(
            taker=cases[pair.taker][0],
            giver=cases[pair.giver][0],
            parts=found[pair.taker, pair.giver].parts,
            gain=money_from_float(pair.gain, cases[pair.taker][1].currency),
            plan=found[pair.taker, pair.giver].plan,
        )
        for pair in pairs
    )


def _pair(taker: RepairCase, giver: tuple[str, RepairCase], plan_of: PlanOf, alone: Decimal) -> _Pair | None:
    number, case = giver
    offers = donor_offers(taker.unit, case.unit, taker.device_class, number, taker.currency)
    if not offers:
        return None
    try:
        mended = replace(taker, offers=(*taker.offers, *offers))
        plan = plan_of(mended)
        done = set(names_in(plan.tree))
        actions = [a for a in repair_problem(mended).actions if a.name in done and a.name.endswith(f"unit {number})")]
        parts = tuple(dict.fromkeys(action.part for action in actions if action.part is not None))
        if not parts:
            return None
        left = plan_of(replace(case, unit=stripped(case.unit, parts, case.device_class)))
    except PlainsaleError:
        return None  # What cannot be priced or planned is no pair; each unit's own plan says why.
    return _Pair(plan, parts, float(plan.value.amount + left.value.amount - alone))


def donor_offers(
    taker: Unit, giver: Unit, device_class: DeviceClass, number: str, currency: str
) -> tuple[PartOffer, ...]:
    """Return the good parts of one unit that the other one lacks, none when they are not of one model."""
    groups = [attribute.name for attribute in device_class.attributes if attribute.kind == "group"]
    if any(taker.attributes.get(name) != giver.attributes.get(name) or name not in taker.attributes for name in groups):
        return ()
    faults = faulty_functions(taker, device_class)
    functions = device_class.functions_by_name
    return tuple(
        PartOffer(
            part=part.name,
            source=f"unit {number}",
            available="donor",
            price=Money(amount=Decimal(0), currency=currency),
            quality="salvaged",
        )
        for part in device_class.parts
        if any(name in faults for name in part.function)
        and all(
            status_now(functions[name], giver, device_class) == "works"
            for name in part.function
            if is_fitted(functions[name], giver)
        )
    )


def stripped(unit: Unit, parts: Sequence[str], device_class: DeviceClass) -> Unit:
    """Return the unit without these parts: all that they do is removed, everything else as it was."""
    gone = {name for part in parts for name in device_class.parts_by_name[part].function}
    there = {name for name in gone if is_fitted(device_class.functions_by_name[name], unit)}
    removed = {name: FunctionTest(status="removed", left_in_place=False) for name in there}
    return unit.model_copy(update={"functions": unit.functions | removed})


def _jobs(
    cases: Sequence[tuple[str, RepairCase]], units: Sequence[UnitPlan], donations: Sequence[Donation]
) -> list[tuple[Job, str | None]]:
    """Return a job for each unit with a gain; a giver's own job gives way to the pair."""
    by_taker = {donation.taker: donation for donation in donations}
    givers = {donation.giver for donation in donations}
    own_gain = {unit.number: float(unit.plan.gain.amount) for unit in units if unit.plan is not None}
    jobs: list[tuple[Job, str | None]] = []
    for (number, case), unit in zip(cases, units, strict=True):
        if unit.plan is None or number in givers:
            continue
        donation = by_taker.get(number)
        if donation is None:
            hours = expected_hours(unit.plan.tree, repair_problem(case).actions)
            jobs.append((Job(number, own_gain[number], hours), None))
            continue
        giver = next(each for name, each in cases if name == donation.giver)
        offers = donor_offers(case.unit, giver.unit, case.device_class, donation.giver, case.currency)
        actions = repair_problem(replace(case, offers=(*case.offers, *offers))).actions
        # Both units' own gains are in the pair's gain over their own plans.
        gain = float(donation.gain.amount) + own_gain[number] + own_gain[donation.giver]
        jobs.append((Job(number, gain, expected_hours(donation.plan.tree, actions)), donation.giver))
    return [(job, giver) for job, giver in jobs if np.isfinite(job.gain)]
