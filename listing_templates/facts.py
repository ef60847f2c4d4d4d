"""Facts of a unit: what is known, and where it comes from. A listing may say nothing else.

Keys: ``class``, ``attribute:NAME``, ``function:NAME``, ``surface:NAME``, ``mark:SURFACE:KIND``, ``grade``,
``part:NAME``, ``opened``, ``liquid``, ``lock:NAME``, ``battery_share``, ``data``, ``accessory:NAME``, ``identity``,
``combination:NUMBER`` and ``ask``. A name that the class does not describe is kept, so that no defect is lost.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

from listing_templates.combinations import combination_facts
from listing_templates.fact import Fact, Source
from listing_templates.function_facts import function_facts
from listing_templates.identity import kind_of_identity, masked
from listing_templates.plain_text import clipped
from pricing.records.device_class import DeviceClass
from pricing.records.unit import Mark, Unit, grade_of, surfaces_of

__all__ = ["Fact", "facts_of"]

# What a bench writes in "data_erased" when it was not; like the statuses, in the language of the files.
NOT_ERASED = frozenset({
    "no", "none", "not", "not erased", "not done", "could not be erased", "cannot be erased", "unknown", "false",
})  # fmt: skip

OpeningState = Literal["no sign", "by us", "by others", "not known", "opened"]


def facts_of(unit: Unit, device_class: DeviceClass) -> tuple[Fact, ...]:
    """Return all facts of the unit, each key once, in the order of the class.

    Statuses are those that count today: a test that an opening made void is "untested".
    """
    plain = (
        Fact(key="class", label=device_class.title or device_class.name, state=device_class.name),
        *_attributes(unit, device_class),
        *function_facts(unit, device_class),
        *_surfaces(unit, device_class),
        *_marks(unit, device_class),
        _grade(unit, device_class),
        *_parts(unit, device_class),
        _opened(unit),
        *_liquid(unit, device_class),
        *_locks(unit, device_class),
        *_battery(unit),
        *_data(unit, device_class),
        *_accessories(unit),
        *_identity(unit),
    )
    ask = "not stated" if unit.ask is None else f"{unit.ask.amount} {unit.ask.currency}"
    source: Source = "not mentioned" if unit.ask is None else "recorded"
    asked = Fact(key="ask", label="ask", state=ask, source=source)
    return (*plain, *combination_facts(plain, unit, device_class), asked)


def _attributes(unit: Unit, device_class: DeviceClass) -> list[Fact]:
    facts = []
    known = device_class.attributes_by_name
    for name in dict.fromkeys((*known, *unit.attributes)):
        value = unit.attributes.get(name)
        if value is None:
            continue
        attribute = known.get(name)
        label = name.replace("_", " ") if attribute is None else attribute.title
        measure = None if attribute is None else attribute.unit
        kind = "choice" if attribute is None else attribute.kind
        state = str(value) if isinstance(value, Decimal) else clipped(value)
        if state:
            facts.append(
                Fact(key=f"attribute:{name}", label=clipped(label), state=state, detail=measure, kin=kind)
            )
    return facts


def _surfaces(unit: Unit, device_class: DeviceClass) -> list[Fact]:
    known = device_class.surfaces_by_name
    marked = {mark.surface for mark in unit.marks}
    facts = []
    there = [surface.name for surface in surfaces_of(unit, device_class)]
    for name in dict.fromkeys((*there, *unit.looked_at, *unit.covered)):
        label = known[name].title if name in known else clipped(name)
        source: Source = "recorded"
        if name in unit.covered:
            state = "covered"
        elif name in marked:
            state = "marked"
        elif name in unit.looked_at:
            state = "clean"
        else:
            state, source = "not looked at", "not mentioned"
        facts.append(Fact(key=f"surface:{name}", label=label, state=state, source=source))
    return facts


def _marks(unit: Unit, device_class: DeviceClass) -> list[Fact]:
    known = device_class.surfaces_by_name
    alike: dict[tuple[str, str], list[Mark]] = {}
    for mark in unit.marks:
        alike.setdefault((mark.surface, mark.kind), []).append(mark)
    facts = []
    for (surface, kind), marks in alike.items():
        glass = surface in known and known[surface].glass
        label = known[surface].title if surface in known else clipped(surface)
        facts.append(
            Fact(
                key=f"mark:{surface}:{kind}",
                label=label,
                state=clipped(kind),
                marks=tuple(marks),
                danger=glass and kind == "crack",
            )
        )
    return facts


def _grade(unit: Unit, device_class: DeviceClass) -> Fact:
    grade = grade_of(unit, device_class)
    words = device_class.grade_rule.words(grade)
    return Fact(key="grade", label="grade", state=grade, detail=words, source="computed")


def _parts(unit: Unit, device_class: DeviceClass) -> list[Fact]:
    known = device_class.parts_by_name
    facts: dict[str, Fact] = {}
    for fitted in dict.fromkeys(unit.parts):
        key, number = f"part:{fitted.part}", 2
        while key in facts:
            key, number = f"part:{fitted.part}:{number}", number + 1
        label = known[fitted.part].title if fitted.part in known else clipped(fitted.part)
        facts[key] = Fact(key=key, label=label, state=fitted.origin, day=fitted.fitted_on, hidden=True)
    return list(facts.values())


def _opened(unit: Unit) -> Fact:
    changed = any(fitted.fitted_on is not None or fitted.origin != "original" for fitted in unit.parts)
    state: OpeningState = unit.opened
    source: Source = "recorded"
    if state in ("no sign", "not known") and (changed or unit.opened_on is not None or unit.opened_parts):
        # Something was fitted or a day is recorded: then it was open, whoever did it.
        state, source = "opened", "computed"
    return Fact(key="opened", label="opened", state=state, source=source, day=unit.opened_on, hidden=True)


def _liquid(unit: Unit, device_class: DeviceClass) -> list[Fact]:
    if "liquid indicator" in device_class.without and unit.liquid_indicator == "not looked at":
        return []
    return [Fact(key="liquid", label="liquid indicator", state=unit.liquid_indicator, hidden=True)]


def _locks(unit: Unit, device_class: DeviceClass) -> list[Fact]:
    known = device_class.locks_by_name
    facts = []
    for name in dict.fromkeys((*known, *unit.locks)):
        check = unit.locks.get(name)
        lock = known.get(name)
        facts.append(
            Fact(
                key=f"lock:{name}",
                label=clipped(name) if lock is None else lock.title,
                state="not checked" if check is None else check.state,
                detail=None if lock is None else lock.means or None,
                source="not mentioned" if check is None else "recorded",
                day=None if check is None else check.checked_on,
                way=None if check is None or check.way is None else clipped(check.way) or None,
                hidden=True,
                danger=lock is not None and lock.parts_only,
            )
        )
    return facts


def _battery(unit: Unit) -> list[Fact]:
    if unit.battery_share is None:
        return []
    way = "measured" if unit.battery_measured else "reported"
    return [Fact(key="battery_share", label="battery", state=str(unit.battery_share), way=way, hidden=True)]


def _data(unit: Unit, device_class: DeviceClass) -> list[Fact]:
    way = None if unit.data_erased is None else clipped(unit.data_erased) or None
    if way is None and "stored data" in device_class.without:
        return []
    if way is None:
        return [Fact(key="data", label="data", state="not recorded", source="not mentioned", hidden=True)]
    state = "verified" if unit.data_verified else "not verified"
    if way.rstrip(" .!").casefold() in NOT_ERASED:
        state = "not erased"
    return [Fact(key="data", label="data", state=state, way=way, hidden=True)]


def _accessories(unit: Unit) -> list[Fact]:
    names = dict.fromkeys(clipped(name) for name in unit.accessories)
    return [Fact(key=f"accessory:{name}", label=name, state="included") for name in names if name]


def _identity(unit: Unit) -> list[Fact]:
    if unit.identity is None:
        return []
    kind = kind_of_identity(unit.identity)
    return [Fact(key="identity", label="identity", state=kind, detail=masked(unit.identity))]
