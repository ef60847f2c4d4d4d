"""Random units of any class: every status, mark, part, lock and state that a record allows."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from random import Random
from typing import Any

from pricing.records.device_class import MARK_KINDS, DeviceClass, Function
from pricing.records.unit import Unit

FIRST_DAY = date(2026, 1, 1)
_STATUSES = ("works", "impaired", "dead", "removed", "untested")
_WORDS = ("only when warm", "rattles", "comes and goes", "switches off at 20 %", "slow", "needs an angle")


def random_unit(device_class: DeviceClass, seed: int) -> Unit:
    """Return a unit of the class; the same seed gives the same unit."""
    chance = Random(seed)
    share_known = chance.choice((0.1, 0.5, 0.9, 1.0))
    fields: dict[str, Any] = {
        "class": device_class.name,
        "number": f"U{seed}",
        "attributes": _attributes(device_class, chance),
        "functions": {f.name: _test(f, chance) for f in device_class.functions if chance.random() < share_known},
        "looked_at": [s.name for s in device_class.surfaces if chance.random() < 0.6],
        "covered": [s.name for s in device_class.surfaces if chance.random() < 0.1],
        "marks": _marks(device_class, chance),
        "parts": _parts(device_class, chance),
        "opened": chance.choice(("no sign", "by us", "by others", "not known")),
        "opened_on": chance.choice((None, str(_day(chance)))),
        "opened_parts": [p.name for p in device_class.parts if chance.random() < 0.1],
        "liquid_indicator": chance.choice(("white", "red", "missing", "cannot be seen", "not looked at")),
        "locks": _locks(device_class, chance),
        "battery_share": chance.choice((None, "100", "84", "91.5")),
        "battery_measured": chance.random() < 0.5,
        "data_erased": chance.choice((None, "built-in erase", "not erased", "overwritten")),
        "data_verified": chance.random() < 0.5,
        "accessories": chance.sample(("cable", "box", "charger of another maker, 20 W"), chance.randint(0, 3)),
        "identity": chance.choice((None, "260531793113837", "260531793113830", "SN-77-ABC-901")),
        "observed": [c.say for c in device_class.combinations if c.observed and chance.random() < 0.3],
        "ask": chance.choice((None, {"amount": str(Decimal(chance.randint(1, 90000)) / 100), "currency": "EUR"})),
    }
    return Unit.model_validate(fields)


def _day(chance: Random) -> date:
    return FIRST_DAY + timedelta(days=chance.randint(0, 90))


def _attributes(device_class: DeviceClass, chance: Random) -> dict[str, str]:
    values = {}
    for attribute in device_class.attributes:
        if chance.random() < 0.7:
            words = attribute.options or ("Arvel", "Onda", "Tessa N2")
            values[attribute.name] = (
                str(chance.choice((64, 256, 2021, 13.3))) if attribute.kind == "number" else chance.choice(words)
            )
    return values


def _test(function: Function, chance: Random) -> dict[str, Any]:
    statuses = (*_STATUSES, "not fitted") if function.optional or function.fitted_if else _STATUSES
    weights = (8, 1, 1, 1, 2, 1)[: len(statuses)]
    status = chance.choices(statuses, weights)[0]
    return {
        "status": status,
        "symptom": chance.choice((*function.symptoms, *_WORDS)) if status == "impaired" else None,
        "tested_on": chance.choice((None, str(_day(chance)), str(FIRST_DAY))),
        "restarted": chance.choice((None, True, False)),
        "left_in_place": chance.choice((None, True, False)) if status == "removed" else None,
    }


def _marks(device_class: DeviceClass, chance: Random) -> list[dict[str, Any]]:
    return [
        {
            "surface": chance.choice(device_class.surfaces).name,
            "kind": chance.choice(MARK_KINDS),
            "size_mm": chance.choice((None, 3, 12.5, 40)),
            "count": chance.choice((1, 1, 2, 6)),
            "visible_at_arms_length": chance.choice((None, True, False)),
        }
        for _ in range(chance.choice((0, 1, 2, 5)) if device_class.surfaces else 0)
    ]


def _parts(device_class: DeviceClass, chance: Random) -> list[dict[str, Any]]:
    return [
        {
            "part": chance.choice(device_class.parts).name,
            "origin": chance.choice(("original", "third-party", "salvaged", "unknown")),
            "fitted_on": chance.choice((None, str(_day(chance)))),
        }
        for _ in range(chance.choice((0, 0, 1, 3)) if device_class.parts else 0)
    ]


def _locks(device_class: DeviceClass, chance: Random) -> dict[str, Any]:
    return {
        lock.name: {
            "state": chance.choice(("free", "free", "locked", "not checked")),
            "checked_on": chance.choice((None, str(_day(chance)))),
            "way": chance.choice((None, "first start on-line")),
        }
        for lock in device_class.locks
        if chance.random() < 0.7
    }
