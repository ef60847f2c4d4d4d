"""Weakening or contradicting any one disclosure of our own listings is found, each way of doing so by itself."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Callable
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import pytest

from data.catalogue.reader import class_names, find_class
from listing_templates.class_texts import class_texts
from listing_templates.disclosures import disclosed_by
from listing_templates.honesty import read_text
from listing_templates.render import render_listing
from pricing.records.device_class import DeviceClass
from pricing.records.listing import Sentence
from pricing.records.unit import Unit
from tests.builders import small_class
from tests.counts import count
from tests.random_units import random_unit

UNITS = count(2000)
LEAST = 0.98
LEAST_OF_EACH = 0.85
LANGUAGES = ("en", "de", "fr", "es")


@cache
def phrases_of(tag: str) -> dict[str, Any]:
    """Return what takes the place of disclosures in a language."""
    text = (Path(__file__).parents[1] / "data" / "weakened.toml").read_text("utf-8")
    return dict(tomllib.loads(text)[tag])


@cache
def listings(tag: str) -> list[tuple[DeviceClass, Unit, str, Sentence]]:
    """Return for each random unit its listing as text and one of its disclosures of a thing that has a name."""
    classes = (small_class(), *(find_class(name) for name in class_names()))
    chosen = []
    for seed in range(UNITS):
        device_class = classes[seed % len(classes)]
        unit = random_unit(device_class, seed)
        listing = render_listing(unit, device_class, format="text", language=tag)
        told = [s for s in listing.sentences if s.disclosure and noun_of(s) in phrases_of(tag)["against"]]
        if told:
            chosen.append((device_class, unit, listing.body, Random(seed).choice(told)))
    return chosen


def noun_of(sentence: Sentence) -> str:
    return disclosed_by(sentence)[0].partition(":")[0]


def label_of(sentence: Sentence, device_class: DeviceClass, tag: str) -> str:
    """Return what the class calls the thing that a sentence discloses."""
    worded = class_texts(device_class, tag)
    noun, _, name = disclosed_by(sentence)[0].partition(":")
    things = {
        "function": worded.functions_by_name,
        "mark": worded.surfaces_by_name,
        "surface": worded.surfaces_by_name,
        "part": worded.parts_by_name,
        "lock": worded.locks_by_name,
    }
    found = things[noun].get(name.split(":")[0]) if noun in things else None
    return noun.replace("_", " ") if found is None else found.title


def shares(tag: str, reworded: Callable[[Sentence, str, Random], tuple[str, str]]) -> tuple[float, dict[str, float]]:
    """Return the share that is found of all disclosures reworded so, and of each kind."""
    found: Counter[str] = Counter()
    tried: Counter[str] = Counter()
    for number, (device_class, unit, body, sentence) in enumerate(listings(tag)):
        kind, text = reworded(sentence, label_of(sentence, device_class, tag), Random(number))
        start = body.rindex(sentence.text)
        changed = body[:start] + text + body[start + len(sentence.text) :]
        facts = {finding.fact for finding in read_text(changed, unit, device_class, language=tag)}
        tried[kind] += 1
        found[kind] += bool(facts & set(disclosed_by(sentence)))
    return found.total() / tried.total(), {kind: found[kind] / tried[kind] for kind in tried if tried[kind] >= 10}


@pytest.mark.parametrize("tag", LANGUAGES)
def test_weakening_a_disclosure_is_found(tag: str) -> None:
    def weaker(sentence: Sentence, label: str, chance: Random) -> tuple[str, str]:
        phrases = phrases_of(tag)
        pattern = chance.choice(phrases["weak_of"].get(noun_of(sentence), phrases["weak"]))
        return pattern, pattern.format(label=label)

    whole, each = shares(tag, weaker)
    assert whole >= LEAST, each
    assert min(each.values()) >= LEAST_OF_EACH, each


@pytest.mark.parametrize("tag", LANGUAGES)
def test_contradicting_a_disclosure_is_found(tag: str) -> None:
    def opposite(sentence: Sentence, label: str, chance: Random) -> tuple[str, str]:
        noun = noun_of(sentence)
        return noun, chance.choice(phrases_of(tag)["against"][noun]).format(label=label)

    whole, each = shares(tag, opposite)
    assert whole >= LEAST, each
    assert min(each.values()) >= LEAST_OF_EACH, each


@pytest.mark.parametrize("tag", LANGUAGES)
def test_putting_a_maybe_into_a_disclosure_is_found(tag: str) -> None:
    def doubted(sentence: Sentence, label: str, chance: Random) -> tuple[str, str]:
        doubt = chance.choice(phrases_of(tag)["maybe"])
        return doubt, doubt + sentence.text[0].lower() + sentence.text[1:]

    whole, each = shares(tag, doubted)
    assert whole >= LEAST, each
    assert min(each.values()) >= LEAST_OF_EACH, each
