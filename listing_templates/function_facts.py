"""Facts about functions: the status that counts today, and why one is untested.

An untested function has a reason in ``detail``: "opened" (tested, but an opening made that void), "restart" (the
test needs a restart), "blocked" (a function that it requires is dead or removed; ``because`` names it), "told"
(recorded as untested) or "silent" (nobody mentioned it).
"""

from __future__ import annotations

from listing_templates.fact import Fact
from listing_templates.plain_text import clipped
from pricing.records.device_class import DeviceClass, Function
from pricing.records.gates import blocker_of
from pricing.records.unit import FunctionTest, Status, Unit, status_now, voided_by_opening


def function_facts(unit: Unit, device_class: DeviceClass) -> list[Fact]:
    """Return one fact per function of the class, and one per recorded function that the class does not know."""
    statuses = {f.name: status_now(f, unit, device_class) for f in device_class.functions}
    described = [_fact(f, statuses, unit, device_class) for f in device_class.functions]
    unknown = [
        _unknown(name, test) for name, test in unit.functions.items() if name not in device_class.functions_by_name
    ]
    return described + unknown


def _fact(function: Function, statuses: dict[str, Status], unit: Unit, device_class: DeviceClass) -> Fact:
    test = unit.functions.get(function.name)
    status = statuses[function.name]
    blocker = blocker_of(function, statuses, device_class)
    because = None if blocker is None else f"function:{blocker}"
    detail = None if test is None else _detail(test)
    source = "not mentioned" if test is None and status == "untested" else "recorded"
    if status == "untested":
        detail = _reason(function, test, blocker, unit, device_class)
        if detail in ("opened", "restart"):
            source = "computed"
        because = "opened" if detail == "opened" else because if detail == "blocked" else None
    elif test is None:
        source = "computed"
    return Fact.model_validate({
        "key": f"function:{function.name}", "label": function.title, "state": status, "detail": detail,
        "source": source, "day": None if test is None else test.tested_on, "because": because,
        "kin": function.kin, "weight": function.weight, "hidden": function.hidden,
        "danger": function.safety and (status in ("impaired", "dead") or detail == "left in place"),
    })  # fmt: skip


def _reason(
    function: Function, test: FunctionTest | None, blocker: str | None, unit: Unit, device_class: DeviceClass
) -> str:
    if test is not None and test.status == "works":
        return "opened" if voided_by_opening(function.name, unit, device_class) else "restart"
    if blocker is not None:
        return "blocked"
    return "silent" if test is None else "told"


def _detail(test: FunctionTest) -> str | None:
    if test.status == "impaired":
        return clipped(test.symptom or "").rstrip(" .!") or None
    if test.status == "removed" and test.left_in_place:
        return "left in place"
    return None


def _unknown(name: str, test: FunctionTest) -> Fact:
    # The class says nothing of what touches it, so "works" cannot be known to have outlived an opening.
    status = "untested" if test.status == "works" else test.status
    detail = "told" if status == "untested" else _detail(test)
    label = clipped(name.replace("_", " "))
    return Fact(
        key=f"function:{name}", label=label, state=status, detail=detail, day=test.tested_on, kin="other", weight=2
    )
