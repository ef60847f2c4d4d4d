"""The words of one class in one language, compiled once: names of its things, and words that assert something."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

from listing_templates.fact import Fact
from listing_templates.honesty.lookup import Lookup
from listing_templates.honesty.tokens import spellings, tokens_of
from listing_templates.honesty.tongue import common_words
from listing_templates.honesty.words import Words, read_words, words_tags
from pricing.records.device_class import DeviceClass

_BLANK = re.compile(r"\s+")
_JOINERS = re.compile(r"[-‐‑‒–—/_\\*`~|#>\"“”«»\[\]{}]")
_INSIDE_BRACKETS = re.compile(r"\s*\([^)]*\)")
_NAMED = ("function", "surface", "part", "lock")


@dataclass(frozen=True)
class Vocabulary:
    """What the reader knows of a class in a language.

    ``names`` mean keys of facts, "group:KIN" or a use; ``signals`` what is asserted; ``bags`` hold the weighty words
    of each thing's names, ``labels`` those of its label, ``weights``, by noun, one through the
    number of things that share a word; ``spoken`` pairs each thing with its names as people write them.
    """

    tag: str
    words: Words
    names: Lookup
    signals: Lookup
    kins: re.Pattern[str]
    whole: Lookup
    bare: Lookup
    firm: Lookup
    breaks: Lookup
    exceptions: Lookup
    rest: Lookup
    pronouns: Lookup
    negators: frozenset[str]
    negators_after: frozenset[str]
    idle: frozenset[str]
    bags: Mapping[str, frozenset[str]]
    labels: Mapping[str, frozenset[str]]
    weights: Mapping[str, Mapping[str, float]]
    spoken: tuple[tuple[str, str], ...]
    ways: Lookup
    turns: Lookup
    denials: Lookup
    taken_back: Lookup
    attributions: Lookup
    conditions: Lookup
    within: Lookup

    def turn(self, text: str) -> int:
        """Return where the last clause of the text begins."""
        return max((found.end for found in self.turns.find(text)), default=0)

    def clauses(self, text: str) -> Iterator[str]:
        """Yield the stretches between the words that end a clause ("but") and semicolons."""
        last = 0
        for found in self.breaks.find(text):
            yield text[last : found.start]
            last = found.end
        yield text[last:]


def normal(text: str, rewrites: Sequence[tuple[str, str]]) -> str:
    """Return text in small letters, hyphens and markup as blanks, contractions written in full."""
    plain = unicodedata.normalize("NFKC", text).casefold().replace("’", "'")
    for written, meant in rewrites:
        plain = plain.replace(written, meant)
    return _BLANK.sub(" ", _JOINERS.sub(" ", plain)).strip()


def vocabulary_of(device_class: DeviceClass, facts: Iterable[Fact], language: str) -> Vocabulary:
    """Return the vocabulary of a class, compiled once; what only the unit's facts name is added."""
    known = tuple(facts)
    named = {f"function:{function.name}": (function.title, function.kin) for function in device_class.functions}
    for noun, things in (
        ("surface", device_class.surfaces), ("part", device_class.parts), ("lock", device_class.locks),
    ):  # fmt: skip
        named |= {f"{noun}:{thing.name}": (thing.title, "") for thing in things}
    unknown = {f.key: (f.label, f.kin) for f in known if f.noun in _NAMED and f.key not in named}
    named |= {key: words for key, words in unknown.items() if not key.startswith("part:")}
    terms = tuple((key, label, kin) for key, (label, kin) in named.items())
    brand = next((fact.state for fact in known if fact.key == "attribute:brand"), "")
    return _compiled(terms, device_class.title or device_class.name, language, brand)


@cache
def phrases(words: tuple[str, ...], tag: str) -> Lookup:
    """Return a lookup of these phrases; what they mean is that they are there."""
    return Lookup(dict.fromkeys(words, ("",)), tag)


@lru_cache(maxsize=64)
def _compiled(named: tuple[tuple[str, str, str], ...], title: str, language: str, brand: str) -> Vocabulary:
    tag = language if language in words_tags() else "en"
    words = read_words(tag)
    names: dict[str, set[str]] = {}
    for key, label, kin in named:
        for alias in (*_names_of(key, label, tag), *words.aliases.get(key, ())):
            names.setdefault(normal(alias, words.rewrites), set()).add(key)
        for alias in words.groups.get(kin, ()) if key.startswith("function:") else ():
            names.setdefault(normal(alias, words.rewrites), set()).add(f"group:{kin}")
    _add_uses(names, named, words)
    _prefer_labels(names, named, words)
    # A language without words of its own is read by English ones: its "of" and "a" must not count as things told.
    common = common_words().get(language, frozenset()) if language != tag else frozenset[str]()
    idle = frozenset(spelling for word in (*words.idle, *common) for spelling in spellings(word, tag))
    bags = {
        # A name of several words is met as a whole: one word of it ("play games for long") means little.
        key: _bag((label, *(name for name in words.aliases.get(key, ()) if " " not in name)), words, tag) - idle
        for key, label, _ in named
    }  # fmt: skip
    signals: dict[str, set[str]] = {}
    for signal, phrased in words.signals.items():
        for phrase in phrased:
            signals.setdefault(phrase, set()).add(signal)
    if brand:
        # "Not from Ambrisk" tells of another maker; the name alone tells nothing.
        signals.setdefault(normal(brand, words.rewrites), set()).add("brand")
    kins = {kin.replace("_", " ") for key, _, kin in named if key.startswith("function:") and kin} | {"other"}
    return Vocabulary(
        tag=tag,
        words=words,
        names=Lookup({name: keys for name, keys in names.items() if name}, tag, inflected=True),
        signals=Lookup(signals, tag),
        kins=re.compile(r"\((?:" + "|".join(map(re.escape, sorted(kins))) + r")\)"),
        whole=phrases((*words.whole, normal(title, words.rewrites) or "unit"), tag),
        bare=phrases(words.bare, tag),
        firm=phrases(words.firm, tag),
        breaks=phrases((";", *words.breaks), tag),
        exceptions=phrases(words.exceptions, tag),
        rest=phrases(words.rest, tag),
        pronouns=phrases(words.pronouns, tag),
        negators=frozenset(words.negators),
        negators_after=frozenset(words.negators_after),
        idle=idle,
        bags=bags,
        labels={key: _bag((label,), words, tag) - idle for key, label, _ in named},
        weights=_weights_by_noun(bags),
        spoken=tuple((key, name) for key, label, _ in named for name in (label, *words.aliases.get(key, ()))),
        **_ways(tag),
    )


@cache
def _ways(tag: str) -> Mapping[str, Lookup]:
    """Return the lookups that are the same for all classes."""
    words = read_words(tag)
    ways: dict[str, set[str]] = {}
    for way, phrased in (*words.ways.items(), ("innocent", words.innocent)):
        for phrase in phrased:
            ways.setdefault(phrase, set()).add(way)
    return {
        "ways": Lookup(ways, tag),
        "turns": phrases((";", ",", ":", "(", *words.breaks, *words.also), tag),
        "denials": phrases(words.denials, tag),
        "taken_back": phrases(words.taken_back, tag),
        "attributions": phrases(words.attributions, tag),
        "conditions": phrases(words.conditions, tag),
        "within": phrases(words.within, tag),
    }


def _add_uses(names: dict[str, set[str]], named: Sequence[tuple[str, str, str]], words: Words) -> None:
    for use, needed in words.uses.items():
        keys = {key for key, _, _ in named if key.startswith("function:") and key.partition(":")[2] in needed}
        spelled = normal(use, words.rewrites)
        # Where a function is called by the word ("phone calls"), the function is meant.
        if keys and spelled not in names:
            names[spelled] = {f"use:{use}", *keys}


def _bag(texts: Iterable[str], words: Words, tag: str) -> frozenset[str]:
    tokens = (token for text in texts for token in tokens_of(normal(text, words.rewrites), tag))
    return frozenset(token.keys[-1] for token in tokens if token.is_word)


def _weights(bags: Iterable[frozenset[str]]) -> Mapping[str, float]:
    shared = Counter(word for bag in bags for word in bag)
    return {word: 1 / count for word, count in shared.items()}


def _weights_by_noun(bags: Mapping[str, frozenset[str]]) -> Mapping[str, Mapping[str, float]]:
    return {
        noun: _weights(bag for key, bag in bags.items() if key.startswith(f"{noun}:")) for noun in _NAMED
    }


def _names_of(key: str, label: str, tag: str) -> Iterable[str]:
    """Yield the label, the label without what stands in brackets, and "wide camera" for ``camera_wide``."""
    yield label
    yield _INSIDE_BRACKETS.sub("", label)
    if tag != "en":
        # The name in the class file is English: "hinge" would be read as a form of German "hängen".
        return
    name = key.partition(":")[2].replace("_", " ")
    yield name
    first, _, second = name.partition(" ")
    if second and " " not in second:
        yield f"{second} {first}"


def _prefer_labels(
    names: dict[str, set[str]], named: Sequence[tuple[str, str, str]], words: Words
) -> None:
    """Where one function's alias is another's label, keep it for the one whose label it is."""
    for key, label, _ in named:
        owners = names.get(normal(label, words.rewrites))
        if owners is not None and key.startswith("function:"):
            labels = {k for k, other, _ in named if other == label}
            owners -= {owner for owner in owners if owner.startswith("function:") and owner not in labels}
