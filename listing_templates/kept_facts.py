"""Facts as they are kept with a published listing, so that a later change shows."""

from __future__ import annotations

import json
from hashlib import sha256

from listing_templates.fact import Fact
from listing_templates.facts import facts_of
from pricing.records.device_class import DeviceClass
from pricing.records.publication import KeptFact
from pricing.records.unit import Mark, Unit

# What a class calls a thing, or how much buyers care for it, is no fact of the unit.
_OF_THE_CLASS = {"label", "kin", "weight", "hidden", "danger"}


def kept_facts(unit: Unit, device_class: DeviceClass) -> tuple[KeptFact, ...]:
    """Return all facts of the unit as they are now, in the order of ``facts_of``."""
    return tuple(
        KeptFact(key=_storable(fact.key), says=_storable(_line(fact)), digest=sha256(_stated(fact)).hexdigest())
        for fact in facts_of(unit, device_class)
    )


def _stated(fact: Fact) -> bytes:
    # What a lock or a grade means is the class's wording too; which one it is stands in the state.
    worded = {"detail"} if fact.noun in ("lock", "grade") else set()
    stated = fact.model_dump(exclude=_OF_THE_CLASS | worded)
    return json.dumps(stated, default=str, sort_keys=True).encode()


def _line(fact: Fact) -> str:
    marks = "; ".join(_mark(mark) for mark in fact.marks)
    return f"{fact.says}: {marks}" if marks else fact.says


def _mark(mark: Mark) -> str:
    size = "not measured" if mark.size_mm is None else f"{mark.size_mm:g} mm"
    seen = "only from close by" if mark.visible_at_arms_length is False else "seen at arm's length"
    return f"{mark.count} × {size}, {seen}"


def _storable(text: str) -> str:
    """Return a text without halves of signs, which no file in UTF-8 can hold."""
    return text.encode("utf-8", "replace").decode("utf-8")
