"""Facts with their words in another language.

Keys, states that are codes, days and numbers stay as they are; only what a listing would print is translated.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from listing_templates.catalogues import class_catalogue
from listing_templates.fact import Fact
from listing_templates.facts import facts_of
from listing_templates.recent import Recent
from pricing.records.device_class import DeviceClass
from pricing.records.unit import Unit

_RECENT: Recent[tuple[Fact, ...]] = Recent()
# Noun of the fact -> fields that hold words. All other fields hold codes, or what nobody could translate.
_WORDS: Mapping[str, tuple[str, ...]] = {
    "class": ("label",), "attribute": ("label",), "function": ("label",), "surface": ("label",), "mark": ("label",),
    "grade": ("detail",), "part": ("label",), "lock": ("label", "detail", "way"), "data": ("way", "detail"),
    "accessory": ("label",), "combination": ("detail",), "carrier": ("label",), "trace": ("label",), "work": ("label",),
    "corrosion": ("detail",), "seal": ("detail",),
}  # fmt: skip


def facts_in(unit: Unit, device_class: DeviceClass, tag: str) -> tuple[Fact, ...]:
    """Return the facts of the unit, their words in the language of this tag."""
    return _RECENT.get(
        (unit, device_class), (tag,), lambda: translated_facts(facts_of(unit, device_class), tag)
    )


def translated_facts(facts: Iterable[Fact], tag: str) -> tuple[Fact, ...]:
    """Return facts with their words in the language of this tag; what no catalogue has stays as written."""
    words = class_catalogue(tag)
    return tuple(facts) if not words else tuple(_translated(fact, words) for fact in facts)


def _translated(fact: Fact, words: Mapping[str, str]) -> Fact:
    fields = _WORDS.get(fact.noun, ())
    if fact.noun == "function" and fact.state == "impaired":
        fields = ("label", "detail")
    elif fact.noun == "attribute" and fact.kin == "choice":
        fields = ("label", "state")
    changed = {
        field: words[text] for field in fields if (text := getattr(fact, field)) is not None and text in words
    }
    return fact.model_copy(update=changed) if changed else fact
