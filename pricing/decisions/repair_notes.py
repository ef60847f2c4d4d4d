"""What a person at the bench has to know beside the figures of a plan."""

from __future__ import annotations

from collections.abc import Iterator

from pricing.decisions.outlook import untested_by_opening
from pricing.decisions.repairs import RepairCase, failed_before
from pricing.errors import counted
from pricing.records.plan import Plan, PlanAction, PlanNode, RepairProblem


def repair_notes(case: RepairCase, problem: RepairProblem, plan: Plan) -> tuple[str, ...]:
    """Return what the plan assumes and what to mind when it is followed, in plain words."""
    used = [action for action in problem.actions if action.name in set(names_in(plan.tree))]
    return (*_of_actions(case, used), *_of_history(case, problem), *_assumed(case, problem))


def names_in(tree: PlanNode) -> Iterator[str]:
    """Yield the names of all actions and ends in a tree."""
    yield tree.do
    for outcome in tree.outcomes:
        yield from names_in(outcome.then)


def _of_actions(case: RepairCase, used: list[PlanAction]) -> Iterator[str]:
    parts = case.device_class.parts_by_name
    for action in used:
        part = None if action.part is None else parts.get(action.part)
        if part is None or action.kind != "repair":
            continue
        if part.moves_over:
            yield f"{action.name}: the new one comes without {', '.join(part.moves_over)}; move over from the old one"
        if part.variant:
            yield f"{action.name}: must match in {', '.join(part.variant)}"
        if part.paired == "message":
            yield f"{action.name}: a swapped one may show a message; the price does not know of it"


def _of_history(case: RepairCase, problem: RepairProblem) -> Iterator[str]:
    for name in dict.fromkeys(action.part or action.name for action in problem.actions if action.kind == "repair"):
        failed = failed_before(case.unit, name)
        if failed:
            tried = counted(failed, "attempt")
            yield f"{name}: {tried} did not help before; that lowers the chance, and what it cost does not count"


def _assumed(case: RepairCase, problem: RepairProblem) -> Iterator[str]:
    if any(action.lead_days for action in problem.actions):
        yield "parts are ordered one after the other, so that none is bought in vain"
    if case.terms.retest and any(action.opens for action in problem.actions):
        yield "what an opening touches is tested again before the sale; the minutes for that are counted"
    void = untested_by_opening(case.unit, case.device_class)
    if void:
        yield f"count as untested since the unit was opened: {', '.join(void)}; test them again first"
    silent = sorted({name for part in _fitted_parts(case, problem) for name in _harm_without_price(case, part)})
    if silent:
        yield f"harm to {', '.join(silent)} is not priced, because no function hangs on it"


def _fitted_parts(case: RepairCase, problem: RepairProblem) -> list[str]:
    known = case.device_class.parts_by_name
    return [a.part for a in problem.actions if a.kind == "repair" and a.available and a.part in known]


def _harm_without_price(case: RepairCase, name: str) -> Iterator[str]:
    for broken in case.device_class.parts_by_name[name].harm:
        part = case.device_class.parts_by_name.get(broken)
        if broken not in case.device_class.functions_by_name and (part is None or not part.function):
            yield broken
