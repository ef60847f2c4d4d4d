"""Cautions where goods can hurt someone, each in its situation; the texts are data in ``cautions.toml``.

They are general. After every list stands that local rules and the instructions of maker and carrier come first.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from functools import cache
from importlib.resources import files
from typing import Literal

from listing_templates.facts import facts_of
from listing_templates.intake_facts import identity_places
from pricing.records.base import Record
from pricing.records.conditions import is_true
from pricing.records.dangers import cell_signs, dangers_of
from pricing.records.device_class import DeviceClass
from pricing.records.erasure import erasure_of
from pricing.records.stops import RULES_FIRST
from pricing.records.unit import Unit

Situation = Literal["look", "power", "open", "heat", "clean", "store", "publish", "post", "scrap"]
INFESTED = ("insects", "mould", "body fluids")


class Caution(Record):
    """One caution.

    Attributes:
        name: Stable name.
        situations: When it is told.
        when: The predicate that has to be true of the unit.
        say: The words.
        source: Where it is from; "common practice, no source" for what the trade knows.
    """

    name: str
    situations: tuple[Situation, ...]
    when: str
    say: str
    source: str


def cautions_for(
    unit: Unit, device_class: DeviceClass, situation: Situation, parts: Iterable[str] = ()
) -> tuple[Caution, ...]:
    """Return the cautions for a unit in a situation, in the order of the file.

    Args:
        unit: The unit.
        device_class: Its class.
        situation: What is about to be done.
        parts: Parts that are about to be taken off; empty: not known which, so all dangers of an opening count.
    """
    true = _true_of(unit, device_class, frozenset(parts))
    return tuple(
        caution for caution in all_cautions() if situation in caution.situations and caution.when in true
    )


def told(cautions: Iterable[Caution]) -> tuple[str, ...]:
    """Return the words of cautions, and after them that local rules and licensed persons come first."""
    words = tuple(dict.fromkeys(caution.say for caution in cautions))
    return (*words, RULES_FIRST) if words else ()


@cache
def all_cautions() -> tuple[Caution, ...]:
    """Return every caution there is, in the order of the file."""
    text = (files("listing_templates") / "cautions.toml").read_text(encoding="utf-8")
    return tuple(Caution.model_validate(row) for row in tomllib.loads(text)["caution"])


def _true_of(unit: Unit, device_class: DeviceClass, off: frozenset[str]) -> frozenset[str]:
    """Return every ``when`` of the file that is true of the unit, with these parts about to come off."""
    locks = (f"lock:{lock.name}=locked" for lock in device_class.locks if lock.parts_only)
    glass = (fact.danger for fact in facts_of(unit, device_class) if fact.noun == "mark")
    changed = unit.software is not None and unit.software.state in ("replaced", "boot lock opened")
    holds = {
        "always": True,
        "damaged cell": unit.cell.is_dangerous,
        "doubtful cell": bool(cell_signs(unit, device_class)) and not (unit.cell.is_handled or unit.cell.is_dangerous),
        "broken glass": any(glass),
        "infested": any(trace in INFESTED for trace in unit.traces),
        "unsound supply": unit.supply is not None and not unit.supply.may_go_along,
        "data left": erasure_of(unit, device_class) in ("not erased", "not recorded"),
        "parts-only lock": any(is_true(lock, unit, device_class) for lock in locks),
        "held back": bool(unit.doubts),
        "two identities": any(fact.state == "differs" for fact in identity_places(unit)),
        "changed system": changed or is_true("function:unmodified=impaired|dead", unit, device_class),
        "no calls": is_true("function:mobile_calls=dead|removed|impaired", unit, device_class),
    }
    met: set[str] = {
        danger.name
        for danger in dangers_of(unit, device_class)
        if not danger.parts or not off or off & set(danger.parts)
    }
    return frozenset(met | {name for name, is_so in holds.items() if is_so})
