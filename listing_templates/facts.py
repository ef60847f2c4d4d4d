"""Facts of a unit: what is known, and where it comes from. A listing may say nothing else.

Keys: ``class``, ``attribute:NAME``, ``function:NAME``, ``surface:NAME``, ``mark:SURFACE:KIND``, ``grade``,
``part:NAME``, ``opened``, ``liquid``, ``lock:NAME``, ``battery_share``, ``data``, ``accessory:NAME``, ``identity``,
``combination:NUMBER``, ``ask`` and those of ``intake_facts``. A name that the class does not describe is kept, so
that no defect is lost.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Literal

from listing_templates.combinations import combination_facts
from listing_templates.fact import Fact, Source
from listing_templates.function_facts import function_facts
from listing_templates.intake_facts import identity_places, intake_facts
from listing_templates.plain_text import clipped
from pricing.records.device_class import DeviceClass
from pricing.records.erasure import erasure_of
from pricing.records.identity import kind_of_identity, known_as, masked
from pricing.records.unit import Mark, Unit, grade_of, surfaces_of

__all__ = ["Fact", "facts_of"]

# A supply that may not go along is not listed under a name that people give to one.
_SUPPLIES = re.compile(r"\b(?:charger|charging brick|supply|adapter)\b", re.IGNORECASE)

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
        *identity_places(unit),
        *intake_facts(unit, device_class),
    )
    ask = "not stated" if unit.ask is None else f"{unit.ask.amount} {unit.ask.currency}"
    source: Source = "not mentioned" if unit.ask is None else "recorded"
    asked = Fact(key="ask", label="ask", state=ask, source=source)
    return _without_numbers((*plain, *combination_facts(plain, unit, device_class), asked), unit)


def _without_numbers(facts: Iterable[Fact], unit: Unit) -> tuple[Fact, ...]:
    """Return the facts with the unit's own numbers, and what could be an IMEI, masked in words that a bench wrote."""
    numbers = [number for number in (unit.identity, *unit.identities.values()) if number is not None]
    return tuple({fact.key: fact for fact in (_without(numbers, fact) for fact in facts)}.values())


def _without(numbers: list[str], fact: Fact) -> Fact:
    changed = {}
    for field in ("key", "label", "state", "detail", "way"):
        text = getattr(fact, field)
        if text is not None and (masks := known_as(numbers, text)) != text:
            changed[field] = masks
    return fact.model_copy(update=changed) if changed else fact


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
    there = dict.fromkeys(surface.name for surface in surfaces_of(unit, device_class))
    for name in dict.fromkeys((*there, *unit.looked_at, *unit.covered)):
        if name in known and name not in there and name not in marked:
            # The inner screen of a phone that does not fold: nobody can have looked at it.
            continue
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
                because="stale" if check is not None and check.has_grown_old else None,
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
    state = erasure_of(unit, device_class)
    if state == "no storage":
        return []
    way = None if unit.data_erased is None or state == "not recorded" else clipped(unit.data_erased) or None
    verified = clipped(unit.data_verified_how or "") or None
    return [
        Fact(
            key="data",
            label="data",
            state=state,
            detail=verified if state == "verified" else None,
            source="not mentioned" if state == "not recorded" else "recorded",
            day=unit.data_erased_on,
            way=way,
            hidden=True,
        )
    ]


def _accessories(unit: Unit) -> list[Fact]:
    names = dict.fromkeys(clipped(name) for name in unit.accessories)
    if unit.supply is not None and not unit.supply.may_go_along:
        names = {name: None for name in names if not _SUPPLIES.search(name)}
    return [Fact(key=f"accessory:{name}", label=name, state="included") for name in names if name]


def _identity(unit: Unit) -> list[Fact]:
    if unit.identity is None:
        return []
    kind = kind_of_identity(unit.identity)
    return [Fact(key="identity", label="identity", state=kind, detail=masked(unit.identity))]
