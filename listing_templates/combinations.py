"""Consequences that depend on several facts at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache

from listing_templates.fact import Fact
from listing_templates.plain_text import clipped
from pricing.records.device_class import DeviceClass
from pricing.records.unit import Unit


def combination_facts(facts: Iterable[Fact], unit: Unit, device_class: DeviceClass) -> list[Fact]:
    """Return one fact per combination that holds; one marked ``observed`` only when it was seen on this unit.

    What the bench saw and wrote down itself is kept as well. ``way`` holds the keys that a combination rests on,
    separated by a line break; ``detail`` holds its sentence.
    """
    by_key = {fact.key: fact for fact in facts}
    said: dict[str, Fact] = {}
    for number, combination in enumerate(device_class.combinations):
        if combination.observed and combination.say not in unit.observed:
            continue
        rests_on = [_key_if_true(condition, by_key) for condition in combination.when]
        found = [key for key in rests_on if key is not None]
        sentence = clipped(combination.say)
        if len(found) == len(rests_on) and sentence not in said:
            state = "observed" if combination.observed else "holds"
            state = "reassuring" if combination.reassures else state
            said[sentence] = _fact(str(number), sentence, found, by_key, state)
    for number, seen in enumerate(unit.observed):
        sentence = clipped(seen)
        if sentence and sentence not in said:
            said[sentence] = _fact(f"seen:{number}", sentence, [], by_key, "observed")
    return list(said.values())


def _fact(name: str, sentence: str, found: list[str], by_key: Mapping[str, Fact], state: str) -> Fact:
    return Fact(
        key=f"combination:{name}",
        label="combination",
        state=state,
        detail=sentence,
        source="computed" if state == "holds" else "recorded",
        way="\n".join(found) or None,
        hidden=any(by_key[key].hidden for key in found),
        danger=any(by_key[key].danger for key in found if key.startswith("mark:")),
    )


@lru_cache(maxsize=4096)
def _parsed(condition: str) -> tuple[str, frozenset[str]]:
    subject, _, wanted = condition.partition("=")
    return subject.strip(), frozenset(state.strip() for state in wanted.split("|"))


def _key_if_true(condition: str, by_key: Mapping[str, Fact]) -> str | None:
    """Return the key of the fact that makes a condition ("function:fan=dead|removed") true, or None."""
    subject, states = _parsed(condition)
    if subject.startswith("mark:"):
        keys = [f"{subject}:{state}" for state in states]
        return next((key for key in keys if key in by_key), None)
    # A part that was fitted more than once has a numbered key from the second time on.
    key, number = subject, 2
    while key in by_key:
        if by_key[key].state in states:
            return key
        key, number = f"{subject}:{number}", number + 1
    return None
