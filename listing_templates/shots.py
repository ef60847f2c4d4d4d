"""The shot list of a unit: what is to be photographed, from where, with or without a scale, and what that proves.

It is for the seller at the bench and stands in no listing, so its texts are English and lie in ``shots.toml``, not
among the sentences that are translated.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from hashlib import sha256
from importlib.resources import files
from typing import Any

from listing_templates.fact import Fact
from listing_templates.facts import facts_of
from pricing.records.base import Record
from pricing.records.device_class import DeviceClass
from pricing.records.finding import Finding
from pricing.records.photo import Shot
from pricing.records.unit import Unit


class ShotRule(Record):
    """Which facts are seen on a photo, and how that is taken.

    Attributes:
        noun: Of the facts.
        id: Of the shot; None: the key of the fact.
        states: States of the facts; empty: any.
        kin: Kin of the functions; empty: any.
        words, not_words: One of these has to be in the detail, or in the label where there is none; none of those may.
        called, not_called: One of these has to be in the label, none of those may.
        visible: The fact may not be hidden.
        together: One shot shows all that fit.
        shows, view, scale, needed: Of the shot; ``shows`` with {label}, {state} and {detail} of the fact.
    """

    noun: str
    id: str | None = None
    states: tuple[str, ...] = ()
    kin: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    not_words: tuple[str, ...] = ()
    called: tuple[str, ...] = ()
    not_called: tuple[str, ...] = ()
    visible: bool = False
    together: bool = False
    shows: str
    view: str
    scale: bool = False
    needed: bool = True

    def fits(self, fact: Fact) -> bool:
        """Return whether this rule is about the fact; what a dead gate decides is not seen by itself."""
        return (
            fact.noun == self.noun
            and fact.because is None
            and (not self.states or fact.state in self.states)
            and (not self.kin or fact.kin in self.kin)
            and (not self.words or _holds(fact.detail or fact.label, self.words))
            and not _holds(fact.detail or fact.label, self.not_words)
            and (not self.called or _holds(fact.label, self.called))
            and not _holds(fact.label, self.not_called)
            and not (self.visible and (fact.hidden or fact.way == "left in place"))
        )


def shots_of(unit: Unit, device_class: DeviceClass) -> tuple[Shot, ...]:
    """Return every photo that the unit's facts ask for, the whole unit first, then sides, marks and faults."""
    facts = facts_of(unit, device_class)
    return tuple(_shot(rule, shown, facts) for rule, shown in _sorted(facts))


def always() -> str:
    """Return what is to be kept in mind with every shot."""
    text: str = _file()["always"]
    return text


def photo_missing(shot: Shot) -> Finding:
    """Return the finding that a photo is missing; it can be answered with a reason."""
    ruler = " With a ruler." if shot.scale else ""
    suggestion = f"Take the photo {shot.id} ({shot.shows}): {shot.view}{ruler}"
    return Finding(kind="photo missing", start=0, end=0, fact=shot.facts[0], suggestion=suggestion, hard=False)


@cache
def shot_rules() -> tuple[ShotRule, ...]:
    """Return every rule there is, in the order of the file."""
    return tuple(ShotRule.model_validate(row) for row in _file()["shot"])


@cache
def _file() -> dict[str, Any]:
    return tomllib.loads((files("listing_templates") / "shots.toml").read_text(encoding="utf-8"))


def _sorted(facts: Iterable[Fact]) -> Iterator[tuple[ShotRule, list[Fact]]]:
    """Yield facts with the first rule that fits them, in the order in which the file first names their nouns."""
    found: list[tuple[ShotRule, list[Fact]]] = []
    together: dict[str, list[Fact]] = {}
    for fact in facts:
        rule = next((rule for rule in shot_rules() if rule.fits(fact)), None)
        if rule is None:
            continue
        if rule.together and rule.noun in together:
            together[rule.noun].append(fact)
            continue
        found.append((rule, [fact]))
        if rule.together:
            together[rule.noun] = found[-1][1]
    nouns = list(dict.fromkeys(rule.noun for rule in shot_rules()))
    yield from sorted(found, key=lambda each: nouns.index(each[0].noun))


def _shot(rule: ShotRule, shown: Sequence[Fact], facts: Sequence[Fact]) -> Shot:
    first = shown[0]
    proven = [*shown, *(mark for mark in facts if _lies_on(mark, first))]
    label = ", ".join(fact.label for fact in shown)
    return Shot(
        id=rule.id or first.key,
        shows=rule.shows.format(label=label[:1].upper() + label[1:], state=first.state, detail=first.detail or ""),
        view=rule.view,
        scale=rule.scale,
        facts=tuple(fact.key for fact in proven),
        needed=rule.needed,
        state_digest=sha256(_stated(proven)).hexdigest(),
    )


def _lies_on(mark: Fact, surface: Fact) -> bool:
    """Return whether the mark is one of this surface: then a photo of the whole side shows it too."""
    return mark.noun == "mark" and surface.noun == "surface" and mark.name.startswith(f"{surface.name}:")


def _stated(facts: Iterable[Fact]) -> bytes:
    # Days and ways of finding it change with each test, and nothing that a photo shows with them.
    stated = [fact.model_dump(mode="json", include={"key", "state", "detail", "marks"}) for fact in facts]
    return json.dumps(stated, sort_keys=True).encode()


def _holds(text: str, words: Iterable[str]) -> bool:
    said = text.casefold()
    return any(word.casefold() in said for word in words)
