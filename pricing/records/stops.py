"""What must not be done with a unit, and why: no override but to change what is the case.

- A unit that is reported stolen, whose identity was altered, or in which an owner's things were found, is kept as it
  is: neither priced, planned, sold nor stripped.
- Storage that is in and was not erased: not published, not sent.
- A damaged cell: not switched on, charged, published or sent. A cell that a fall, bend or lifted glass makes
  doubtful: not sent until it was handled, which is a set of answers with name and day.
- Mains inside: not opened until somebody qualified is named.

Facts of the trade: common practice, no source. They defer to local rules and to licensed persons.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Literal

from pricing.errors import HeldBack
from pricing.records.base import Record
from pricing.records.dangers import cell_signs, has_danger
from pricing.records.device_class import DeviceClass
from pricing.records.erasure import erasure_of
from pricing.records.unit import Doubt, LockCheck, Unit

Deed = Literal["price", "plan", "power", "open", "publish", "send"]
StopKind = Literal["held back", "data", "damaged cell", "doubtful cell", "mains"]
EVERYTHING: tuple[Deed, ...] = ("price", "plan", "power", "open", "publish", "send")
RULES_FIRST = "Local rules and the instructions of the maker and the carrier come first; ask a licensed person."

_DOUBTS: dict[Doubt, str] = {
    "reported stolen": "It is reported stolen: keep it as it is, neither sell nor strip it, and ask the police or an "
    "adviser what to do.",
    "identity altered": "Its identity was altered, which is a crime in some countries: keep it as it is, neither sell "
    "nor strip it, and ask the police or an adviser what to do.",
    "owner's data found": "Things of an owner were found in it: keep it as it is, neither sell nor strip it, and ask "
    "the police or an adviser how it gets back.",
}


class Stop(Record):
    """One reason not to do something.

    Attributes:
        kind: What it is about.
        deeds: What must not be done.
        facts: Keys of the facts that it rests on.
        reason: In one or two sentences, for the bench.
        lifted_by: What has to be the case for it to go; "" when nothing at this bench can lift it.
    """

    kind: StopKind
    deeds: tuple[Deed, ...]
    facts: tuple[str, ...]
    reason: str
    lifted_by: str = ""


def stops_of(unit: Unit, device_class: DeviceClass) -> tuple[Stop, ...]:
    """Return everything that must not be done with the unit as it is now."""
    return (*_held_back(unit), *_data(unit, device_class), *_cell(unit, device_class), *_mains(unit, device_class))


def stops_for(deed: Deed, unit: Unit, device_class: DeviceClass) -> tuple[Stop, ...]:
    """Return what forbids one deed."""
    return tuple(stop for stop in stops_of(unit, device_class) if deed in stop.deeds)


def publishing_stops(unit: Unit, device_class: DeviceClass) -> tuple[Stop, ...]:
    """Return what forbids publishing a listing of the unit; no reason that a seller gives lifts it."""
    return stops_for("publish", unit, device_class)


def refuse_if_held_back(unit: Unit) -> None:
    """Let pass every unit that may be priced, planned and sold.

    Raises:
        HeldBack: It may be neither sold nor stripped; the message says why and what to do.
    """
    for stop in _held_back(unit):
        name = "this unit" if unit.number is None else f"unit {unit.number}"
        raise HeldBack(f"{name}: {stop.reason}")


def with_checks_of_today(unit: Unit, device_class: DeviceClass, on: date) -> Unit:
    """Return the unit with every check of a lock that has grown too old by this day as not checked.

    Day and way of the old check stay. A lock that was found locked stays locked.
    """
    stale: dict[str, LockCheck] = {}
    for lock in device_class.locks:
        check = unit.locks.get(lock.name)
        if check is None or check.state != "free" or check.checked_on is None or lock.days is None:
            continue
        if check.checked_on + timedelta(days=lock.days) < on:
            stale[lock.name] = check.model_copy(update={"state": "not checked", "has_grown_old": True})
    return unit.model_copy(update={"locks": {**unit.locks, **stale}}) if stale else unit


def _held_back(unit: Unit) -> Iterator[Stop]:
    for doubt in dict.fromkeys(unit.doubts):
        yield Stop(kind="held back", deeds=EVERYTHING, facts=(f"stop:{doubt}",), reason=_DOUBTS[doubt])


def _data(unit: Unit, device_class: DeviceClass) -> Iterator[Stop]:
    state = erasure_of(unit, device_class)
    if state in ("not recorded", "not erased"):
        told = "nobody recorded that it was erased" if state == "not recorded" else "it was not erased"
        yield Stop(
            kind="data",
            deeds=("publish", "send"),
            facts=("data",),
            reason=f"The storage is in, and {told}. Do not look at what is on it.",
            lifted_by="erase it and verify that; else take the storage out and destroy it, or hand it to who does",
        )


def _cell(unit: Unit, device_class: DeviceClass) -> Iterator[Stop]:
    if unit.cell.is_dangerous:
        yield Stop(
            kind="damaged cell",
            deeds=("power", "publish", "send"),
            facts=("cell:look",),
            reason=f"The cell: {unit.cell.look}. Do not switch on, charge, press or send it; keep it apart, in a "
            f"fire-safe place. {RULES_FIRST}",
            lifted_by="the cell replaced or removed, with name and day",
        )
    signs = cell_signs(unit, device_class)
    if signs and not unit.cell.is_handled and not unit.cell.is_dangerous:
        open_questions = ", ".join(name.replace("_", " ") for name in unit.cell.handling.open_questions)
        yield Stop(
            kind="doubtful cell",
            deeds=("send",),
            facts=signs,
            reason="A fall, a bend or something lifted: look at the cell out of the body before charging it unattended "
            f"or sending it. {RULES_FIRST}",
            lifted_by=f"answers with name and day: {open_questions}; or the cell replaced or removed",
        )


def _mains(unit: Unit, device_class: DeviceClass) -> Iterator[Stop]:
    qualified = unit.qualified is not None and unit.qualified.answer
    if has_danger("mains", unit, device_class) and not qualified:
        yield Stop(
            kind="mains",
            deeds=("open",),
            facts=("class",),
            reason=f"Mains inside: it holds a dangerous charge after unplugging. {RULES_FIRST}",
            lifted_by="who is qualified to open it, with name and day",
        )
