"""Weakening or contradicting any one disclosure of our own listings is found, each way of doing so by itself."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from functools import cache
from random import Random

from data.catalogue.reader import class_names, find_class
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
WEAK: tuple[str, ...] = (
    "There may be something about the {label}.",
    "The {label} should be fine.",
    "As far as we know the {label} is all right.",
    "The {label} worked when it was put away.",
    "Perhaps the {label} is not quite perfect.",
    "The {label} only needs a clean.",
    "The {label} has its quirks.",
)
WEAK_OF_WHOLE: dict[str, tuple[str, ...]] = {
    "opened": ("It may have been opened once.", "As far as we know nobody ever opened it."),
    "liquid": ("Perhaps a little damp got in.", "As far as we know it stayed dry."),
    "data": ("The data should be gone.", "As far as we know it is empty."),
    "battery_share": ("The battery should be good for years.", "Perhaps the battery is not the freshest."),
}
AGAINST: dict[str, tuple[str, ...]] = {
    "function": ("The {label} works.", "No issues with the {label}.", "{label}: tested and working."),
    "mark": ("The {label} is unmarked.", "Not a mark on the {label}.", "The {label} is flawless."),
    "surface": ("The {label} is immaculate.", "No scratches on the {label}."),
    "part": ("The {label} is original.", "Genuine {label} in it."),
    "lock": ("{label}: free.", "The {label} is off.", "It is unlocked."),
    "opened": ("Never opened.", "It has not been opened."),
    "liquid": ("The liquid indicator is white.", "No water damage."),
    "data": ("The data was erased and verified.",),
    "battery_share": ("Battery measured at 100 %.", "The battery holds 99 % of its capacity."),
}


@cache
def listings() -> list[tuple[DeviceClass, Unit, str, Sentence]]:
    """Return for each random unit its listing as text and one of its disclosures of a thing that has a name."""
    classes = (small_class(), *(find_class(name) for name in class_names()))
    chosen = []
    for seed in range(UNITS):
        device_class = classes[seed % len(classes)]
        unit = random_unit(device_class, seed)
        listing = render_listing(unit, device_class, format="text")
        told = [s for s in listing.sentences if s.disclosure and noun_of(s) in AGAINST]
        if told:
            chosen.append((device_class, unit, listing.body, Random(seed).choice(told)))
    return chosen


def noun_of(sentence: Sentence) -> str:
    return disclosed_by(sentence)[0].partition(":")[0]


def label_of(sentence: Sentence, device_class: DeviceClass) -> str:
    """Return what the class calls the thing that a sentence discloses."""
    noun, _, name = disclosed_by(sentence)[0].partition(":")
    things = {
        "function": device_class.functions_by_name,
        "mark": device_class.surfaces_by_name,
        "surface": device_class.surfaces_by_name,
        "part": device_class.parts_by_name,
        "lock": device_class.locks_by_name,
    }
    found = things[noun].get(name.split(":")[0]) if noun in things else None
    return noun.replace("_", " ") if found is None else found.title


def shares(reworded: Callable[[Sentence, str, Random], tuple[str, str]]) -> tuple[float, dict[str, float]]:
    """Return the share that is found of all disclosures reworded so, and of each kind."""
    found: Counter[str] = Counter()
    tried: Counter[str] = Counter()
    for number, (device_class, unit, body, sentence) in enumerate(listings()):
        kind, text = reworded(sentence, label_of(sentence, device_class), Random(number))
        start = body.rindex(sentence.text)
        changed = body[:start] + text + body[start + len(sentence.text) :]
        facts = {finding.fact for finding in read_text(changed, unit, device_class, language="en")}
        tried[kind] += 1
        found[kind] += bool(facts & set(disclosed_by(sentence)))
    return found.total() / tried.total(), {kind: found[kind] / tried[kind] for kind in tried if tried[kind] >= 10}


def test_weakening_a_disclosure_is_found() -> None:
    def weaker(sentence: Sentence, label: str, chance: Random) -> tuple[str, str]:
        pattern = chance.choice(WEAK_OF_WHOLE.get(noun_of(sentence), WEAK))
        return pattern, pattern.format(label=label)

    whole, each = shares(weaker)
    assert whole >= LEAST, each
    assert min(each.values()) >= LEAST_OF_EACH, each


def test_contradicting_a_disclosure_is_found() -> None:
    def opposite(sentence: Sentence, label: str, chance: Random) -> tuple[str, str]:
        noun = noun_of(sentence)
        return noun, chance.choice(AGAINST[noun]).format(label=label)

    whole, each = shares(opposite)
    assert whole >= LEAST, each
    assert min(each.values()) >= LEAST_OF_EACH, each


def test_putting_a_maybe_into_a_disclosure_is_found() -> None:
    def doubted(sentence: Sentence, label: str, chance: Random) -> tuple[str, str]:
        doubt = chance.choice(("It may be that: ", "Possibly: ", "Perhaps ", "It might be: "))
        return doubt, doubt + sentence.text[0].lower() + sentence.text[1:]

    whole, each = shares(doubted)
    assert whole >= LEAST, each
    assert min(each.values()) >= LEAST_OF_EACH, each
