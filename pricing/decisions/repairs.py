"""From a unit, its class, a parts list and the terms of a bench to the repair problem.

Each part of the class that restores a faulty function gives a repair for each quality in which it can be had, the
cheapest offer of each; a part whose functions are all faulty can also be taken out for good. Jobs and looks come from
the terms. Attempts in the unit's history lower the chance of the next one. What they cost is spent: nobody asks for it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from pydantic import ValidationError

from pricing.decisions.outlook import faulty_functions
from pricing.errors import Problem, refused
from pricing.records.device_class import DeviceClass, Part
from pricing.records.part_offer import PartOffer
from pricing.records.plan import Chance, Fault, Harm, PlanAction, PlanExit, RepairProblem
from pricing.records.plan_terms import Look, PartTerms, PlanTerms, RepairJob
from pricing.records.unit import Status, Unit, is_fitted, status_now

_FAILED = ("same", "worse", "broke something else")


@dataclass(frozen=True)
class RepairCase:
    """A unit with all that bears on its repair.

    Attributes:
        unit: The unit.
        device_class: Its class.
        offers: The parts list; amounts in the plan's currency.
        terms: Of the bench.
        currency: Of the plan.
        daily_fall: Share of the price that a day takes, where the terms do not say.
    """

    unit: Unit
    device_class: DeviceClass
    offers: tuple[PartOffer, ...]
    terms: PlanTerms
    currency: str
    daily_fall: float = 0.0

    @property
    def faults(self) -> dict[str, Status]:
        """Functions that do not work, and untested ones with causes to tell apart, with their status."""
        found = faulty_functions(self.unit, self.device_class)
        asked = [f for f in self.device_class.functions if f.name in self.terms.causes and is_fitted(f, self.unit)]
        for function in asked:
            if status_now(function, self.unit, self.device_class) == "untested":
                found[function.name] = "untested"
        return found


def repair_problem(case: RepairCase) -> RepairProblem:
    """Return the problem.

    Raises:
        BadInput: The terms or the parts list name what the class does not describe, or a fault that is not there; or
            chances of what may break, or of causes, do not sum as they must.
    """
    check_case(case)
    try:
        return _problem(case)
    except ValidationError as error:
        # The records' own words: what was found, then "; expected" and what would be right.
        told = [detail["msg"].removeprefix("Value error, ").partition("; expected ") for detail in error.errors()]
        problems = [Problem("terms", None, None, found, expected or "chances that fit") for found, _, expected in told]
        raise refused("plan", problems) from error


def _problem(case: RepairCase) -> RepairProblem:
    faults, terms = case.faults, case.terms
    actions = [*_part_actions(case), *_removals(case), *(_job(case, job) for job in terms.jobs)]
    actions += [_look(case, look) for look in terms.looks]
    actions = [action for action in actions if not {action.name, action.part} & {*terms.leave_out}]
    changed = {*faults, *(name for action in actions for harm in action.harms for name in harm.functions)}
    return RepairProblem(
        currency=case.currency,
        faults=tuple(
            Fault(function=name, status=status, causes=terms.causes.get(name, ())) for name, status in faults.items()
        ),
        actions=tuple(actions),
        exits=tuple(_exits(case, changed)),
        hour_cost=terms.hour_cost,
        daily_fall=case.daily_fall if terms.daily_fall is None else terms.daily_fall,
    )


def applicable(case: RepairCase) -> RepairCase:
    """Return the case without jobs and looks for faults that the unit does not have: terms are of the whole bench."""
    faults = case.faults
    jobs = tuple(job for job in case.terms.jobs if set(job.functions) <= set(faults))
    looks = tuple(look for look in case.terms.looks if look.function in faults)
    known = {*case.device_class.parts_by_name, *(job.name for job in jobs), *(look.name for look in looks)}
    left_out = tuple(name for name in case.terms.leave_out if name in known)
    return replace(case, terms=case.terms.model_copy(update={"jobs": jobs, "looks": looks, "leave_out": left_out}))


def check_case(case: RepairCase) -> None:
    """Check the names in terms and parts list.

    Raises:
        BadInput: With one Problem for each name that the class does not know, or fault that is not there.
    """
    problems: list[Problem] = []
    parts, functions, faults = case.device_class.parts_by_name, case.device_class.functions_by_name, case.faults
    breakable = dict.fromkeys((*parts, *functions))

    def check(column: str, name: str, known: Mapping[str, object], what: str) -> None:
        """Note a name that is not known."""
        if name not in known:
            some = ", ".join(list(known)[:8]) or "none there"
            problems.append(Problem("terms", None, column, f'"{name}"', f"{what}: {some}"))

    for offer in case.offers:
        if offer.part not in parts:
            problems.append(Problem("parts list", offer.line, "part", f'"{offer.part}"', "a part of the class"))
        for money in (offer.price, offer.postage):
            if money is not None and money.currency != case.currency:
                problems.append(Problem("parts list", offer.line, "currency", money.currency, case.currency))
    for name, known in case.terms.parts.items():
        check("parts", name, parts, "a part of the class")
        for broken in known.harms or {}:
            check(f"parts.{name}.harms", broken, breakable, "a function or part of the class")
    for name in case.terms.part_worth:
        check("part_worth", name, parts, "a part of the class")
    for job in case.terms.jobs:
        for name in job.functions:
            check(f"jobs.{job.name}", name, faults, "a function with a fault on this unit")
        for broken in job.harms:
            check(f"jobs.{job.name}.harms", broken, breakable, "a function or part of the class")
    for look in case.terms.looks:
        check(f"looks.{look.name}", look.function, case.terms.causes, "a function with causes")
        check(f"looks.{look.name}", look.function, faults, "a function with a fault on this unit")
    jobs = dict.fromkeys([*(job.name for job in case.terms.jobs), *(look.name for look in case.terms.looks)])
    for name in case.terms.leave_out:
        check("leave_out", name, {**dict.fromkeys(parts), **jobs}, "a part of the class, or a job")
    for name in case.terms.causes:
        check("causes", name, functions, "a function of the class")
    if problems:
        raise refused("plan", problems)


def _part_actions(case: RepairCase) -> Iterator[PlanAction]:
    for part in case.device_class.parts:
        restored = tuple(name for name in part.function if name in case.faults)
        if not restored:
            continue
        offers = [offer for offer in case.offers if offer.part == part.name]
        usable = cheapest_offers(offers, case.terms)
        if part.paired == "function lost":
            yield _impossible(part, restored, "tied to the board: another one does not work in this unit")
        elif not usable:
            yield _impossible(part, restored, why_no_offer(offers))
        for offer in usable if part.paired != "function lost" else ():
            yield _fitting(case, part, restored, offer)


def cheapest_offers(offers: Sequence[PartOffer], terms: PlanTerms) -> list[PartOffer]:
    """Return the cheapest available offer of each quality, the quicker of two that cost the same."""
    best: dict[tuple[str, str], PartOffer] = {}
    ordered = sorted(offers, key=lambda offer: (offer.cost(terms.surplus_share), offer.lead_days))
    for offer in ordered:
        if offer.available != "no":
            best.setdefault((offer.quality, offer.available), offer)
    return list(best.values())


def why_no_offer(offers: Sequence[PartOffer]) -> str:
    """Return why a part cannot be had: where it was looked for, and when."""
    if not offers:
        return "the parts list has no offer of it"
    places = [f"{o.source} ({o.checked_on})" if o.checked_on else f"{o.source} (no day given)" for o in offers]
    return f"sold nowhere; looked at {', '.join(places)}"


def _impossible(part: Part, restored: tuple[str, ...], why: str) -> PlanAction:
    return PlanAction(name=f"fit {part.title}", functions=restored, part=part.name, available=False, why_not=why)


def _fitting(case: RepairCase, part: Part, restored: tuple[str, ...], offer: PartOffer) -> PlanAction:
    terms, known = case.terms, case.terms.parts.get(part.name, PartTerms())
    fits = terms.donor_fits if offer.available == "donor" else 1.0
    success = next(s for s in (offer.success, known.success, terms.success) if s is not None)
    minutes = next(m for m in (offer.minutes, known.minutes, terms.minutes) if m is not None)
    before = terms.retry ** failed_before(case.unit, part.name)
    harms = known.harms if known.harms is not None else dict.fromkeys(part.harm, terms.harm)
    return PlanAction(
        name=f"fit {part.title} ({offer.quality}, {offer.source})",
        functions=restored,
        part=part.name,
        origin=offer.quality,
        cost=offer.cost(terms.surplus_share),
        minutes=minutes + terms.move_minutes * len(part.moves_over) + _test_minutes(case, part),
        lead_days=offer.lead_days,
        success=success * fits * before,
        success_by_cause={name: chance * fits * before for name, chance in known.success_by_cause.items()},
        doa_share=offer.doa_share,
        doa_refund=_refund(offer, terms),
        harms=_harms(case, harms),
        attempts=known.attempts if offer.pieces is None else min(known.attempts, offer.pieces),
        retry=terms.retry,
        voids=not terms.retest,
    )


def _refund(offer: PartOffer, terms: PlanTerms) -> Chance:
    """Return the share of an order's cost that comes back for a dead piece: its price, neither postage nor the rest."""
    cost = offer.cost(terms.surplus_share)
    if offer.price is None or not cost:
        return 0.0
    return min(1.0, terms.doa_refund * float(offer.price.amount / cost))


def failed_before(unit: Unit, name: str) -> int:
    """Return how many attempts with a part (or a job of this name) the unit's history says did not help."""
    return sum(name in (entry.part, entry.what) and entry.result in _FAILED for entry in unit.history)


def _test_minutes(case: RepairCase, part: Part) -> float:
    """Return the time to test again what was touched and what was restored."""
    if not case.terms.retest:
        return 0.0
    functions = case.device_class.functions_by_name
    names = dict.fromkeys((*part.touches, *part.function))
    return float(sum(functions[name].minutes for name in names if is_fitted(functions[name], case.unit)))


def _harms(case: RepairCase, chances: Mapping[str, float]) -> tuple[Harm, ...]:
    """Return what may break; a part takes with it those of its functions that the unit has."""
    found = []
    for name, chance in chances.items():
        part = case.device_class.parts_by_name.get(name)
        names = part.function if part is not None and name not in case.device_class.functions_by_name else (name,)
        there = tuple(n for n in names if is_fitted(case.device_class.functions_by_name[n], case.unit))
        good = tuple(n for n in there if _can_break(case, n))
        if good and chance > 0:
            found.append(Harm(functions=good, chance=chance))
    return tuple(found)


def _can_break(case: RepairCase, name: str) -> bool:
    function = case.device_class.functions_by_name[name]
    return status_now(function, case.unit, case.device_class) in ("works", "impaired")


def _removals(case: RepairCase) -> Iterator[PlanAction]:
    functions = case.device_class.functions_by_name
    for part in case.device_class.parts:
        there = tuple(name for name in part.function if is_fitted(functions[name], case.unit))
        faulty = [name for name in there if case.faults.get(name) in ("impaired", "dead")]
        if not there or len(faulty) < len(there) or any(functions[name].gate for name in there):
            continue
        yield PlanAction(
            name=f"take out {part.title}",
            kind="remove",
            functions=there,
            part=part.name,
            minutes=case.terms.remove_minutes + _test_minutes(case, part),
            voids=not case.terms.retest,
        )


def _job(case: RepairCase, job: RepairJob) -> PlanAction:
    before = case.terms.retry ** failed_before(case.unit, job.name)
    return PlanAction(
        name=job.name,
        functions=job.functions,
        cost=job.cost,
        minutes=job.minutes,
        success=job.success * before,
        success_by_cause={name: chance * before for name, chance in job.success_by_cause.items()},
        harms=_harms(case, job.harms),
        attempts=job.attempts,
        retry=job.retry,
        opens=job.opens,
    )


def _look(_case: RepairCase, look: Look) -> PlanAction:
    return PlanAction(
        name=look.name,
        kind="diagnose",
        functions=(look.function,),
        cost=look.cost,
        minutes=look.minutes,
        opens=look.opens,
    )


def _exits(case: RepairCase, changed: set[str]) -> Iterator[PlanExit]:
    terms = case.terms
    if terms.parts_net is not None:
        fixed, by_function = _worth_of_parts(case, changed)
        yield PlanExit(name="parts", kind="parts", net=terms.parts_net + fixed, by_function=by_function)
    if terms.recycle_net is not None:
        yield PlanExit(name="recycle", kind="recycle", net=terms.recycle_net)


def _worth_of_parts(case: RepairCase, changed: set[str]) -> tuple[Decimal, dict[str, Decimal]]:
    """Return what good parts are worth: those that stay as they are, and by function those that may change.

    A part counts as good when its first function that may change works; without such, when all of them work now.
    """
    fixed, by_function = Decimal(0), dict[str, Decimal]()
    for name, worth in case.terms.part_worth.items():
        functions = [case.device_class.functions_by_name[f] for f in case.device_class.parts_by_name[name].function]
        fitted = [function for function in functions if is_fitted(function, case.unit)]
        moving = next((function.name for function in fitted if function.name in changed), None)
        if moving is not None:
            by_function[moving] = by_function.get(moving, Decimal(0)) + worth
        elif all(status_now(function, case.unit, case.device_class) == "works" for function in fitted):
            fixed += worth
    return fixed, by_function
