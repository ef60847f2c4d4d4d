"""The words of one class in one language, compiled once: names of its things, and words that assert something."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

from listing_templates.fact import Fact
from listing_templates.honesty.words import Words, read_words, words_tags
from pricing.records.device_class import DeviceClass

_BLANK = re.compile(r"\s+")
_JOINERS = re.compile(r"[-‐‑‒–—/_\\*`~|#>\"“”«»\[\]{}]")
_INSIDE_BRACKETS = re.compile(r"\s*\([^)]*\)")
_NAMED = ("function", "surface", "part", "lock")


class Lookup:
    """Many phrases as one pattern; the longest at a place wins.

    The pattern has no groups, which makes it some 80 times quicker (for a phone); what a found spelling means
    is looked up apart, once for each spelling.
    """

    def __init__(self, meanings: Mapping[str, Iterable[str]], spelling: Callable[[str], str]) -> None:
        ordered = sorted(meanings, key=lambda phrase: (-len(phrase), phrase))
        body = "|".join(map(spelling, ordered)) or "(?!)"
        self._pattern = re.compile(rf"(?<![a-z0-9])(?:{body})(?![a-z0-9])")
        self._phrases = [(re.compile(spelling(phrase)), frozenset(meanings[phrase])) for phrase in ordered]
        self._known: dict[str, frozenset[str]] = {}

    def find(self, text: str) -> list[tuple[int, int, frozenset[str]]]:
        """Return (start, end, what it means) of each phrase in ``normal`` text, in order, without overlap."""
        return [(found.start(), found.end(), self._meaning(found[0])) for found in self._pattern.finditer(text)]

    def _meaning(self, spelled: str) -> frozenset[str]:
        # Spellings that match are few (plurals, blanks left out), so this memory stays small.
        if spelled not in self._known:
            self._known[spelled] = next(meant for phrase, meant in self._phrases if phrase.fullmatch(spelled))
        return self._known[spelled]


@dataclass(frozen=True)
class Vocabulary:
    """What the reader knows: ``names`` mean keys of facts or "group:KIN", ``signals`` what is asserted."""

    words: Words
    names: Lookup
    signals: Lookup
    kins: re.Pattern[str]
    whole: re.Pattern[str]
    bare: re.Pattern[str]
    firm: re.Pattern[str]
    breaks: re.Pattern[str]
    exceptions: re.Pattern[str]
    rest: re.Pattern[str]
    pronouns: re.Pattern[str]
    negators: frozenset[str]


def normal(text: str, rewrites: Sequence[tuple[str, str]]) -> str:
    """Return text in small letters, hyphens and markup as blanks, contractions written in full."""
    plain = unicodedata.normalize("NFKC", text).casefold().replace("’", "'")
    for written, meant in rewrites:
        plain = plain.replace(written, meant)
    return _BLANK.sub(" ", _JOINERS.sub(" ", plain)).strip()


def vocabulary_of(device_class: DeviceClass, facts: Iterable[Fact], language: str) -> Vocabulary:
    """Return the vocabulary of a class, compiled once; what only the unit's facts name is added."""
    named = {f"function:{function.name}": (function.title, function.kin) for function in device_class.functions}
    for noun, things in (
        ("surface", device_class.surfaces), ("part", device_class.parts), ("lock", device_class.locks),
    ):  # fmt: skip
        named |= {f"{noun}:{thing.name}": (thing.title, "") for thing in things}
    unknown = {f.key: (f.label, f.kin) for f in facts if f.noun in _NAMED and f.key not in named}
    named |= {key: words for key, words in unknown.items() if not key.startswith("part:")}
    terms = tuple((key, label, kin) for key, (label, kin) in named.items())
    return _compiled(terms, device_class.title or device_class.name, language)


@cache
def phrases(words: tuple[str, ...]) -> re.Pattern[str]:
    """Return a pattern that finds any of these phrases as whole words in ``normal`` text."""
    ordered = sorted(words, key=len, reverse=True)
    return re.compile(r"(?<![a-z0-9])(?:" + "|".join(map(re.escape, ordered)) + r")(?![a-z0-9])")


@lru_cache(maxsize=64)
def _compiled(named: tuple[tuple[str, str, str], ...], title: str, language: str) -> Vocabulary:
    words = read_words(language if language in words_tags() else "en")
    names: dict[str, set[str]] = {}
    for key, label, kin in named:
        for alias in (*_names_of(key, label), *words.aliases.get(key, ())):
            names.setdefault(normal(alias, words.rewrites), set()).add(key)
        for alias in words.groups.get(kin, ()) if key.startswith("function:") else ():
            names.setdefault(normal(alias, words.rewrites), set()).add(f"group:{kin}")
    _prefer_labels(names, named, words)
    signals: dict[str, set[str]] = {}
    for signal, phrased in words.signals.items():
        for phrase in phrased:
            signals.setdefault(phrase, set()).add(signal)
    kins = {kin.replace("_", " ") for key, _, kin in named if key.startswith("function:") and kin} | {"other"}
    return Vocabulary(
        words=words,
        names=Lookup({name: keys for name, keys in names.items() if name}, _flexible),
        signals=Lookup(signals, re.escape),
        kins=re.compile(r"\((?:" + "|".join(map(re.escape, sorted(kins))) + r")\)"),
        whole=phrases((*words.whole, normal(title, words.rewrites) or "unit")),
        bare=re.compile(r"(?:" + "|".join(map(re.escape, sorted(words.bare, key=len, reverse=True))) + r")\b"),
        firm=phrases(words.firm),
        breaks=re.compile(r";|(?<![a-z0-9])(?:" + "|".join(words.breaks) + r")(?![a-z0-9])"),
        exceptions=phrases(words.exceptions),
        rest=phrases(words.rest),
        pronouns=re.compile(r"(?:" + "|".join(words.pronouns) + r")\b"),
        negators=frozenset(words.negators),
    )


def _names_of(key: str, label: str) -> Iterable[str]:
    """Yield the label, the label without what stands in brackets, and "wide camera" for ``camera_wide``."""
    yield label
    yield _INSIDE_BRACKETS.sub("", label)
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


def _flexible(name: str) -> str:
    """Return a pattern for a name: "wi fi" also as "wifi", singular also as plural and the reverse."""
    *first, last = name.split(" ")
    if last.endswith("ies") and len(last) > 4:
        last_pattern = re.escape(last[:-3]) + "(?:y|ies)"
    elif last.endswith("s") and len(last) > 3 and not last.endswith("ss"):
        last_pattern = re.escape(last[:-1]) + "(?:e?s)?"
    elif last.endswith("y") and len(last) > 3:
        last_pattern = re.escape(last[:-1]) + "(?:y|ies)"
    else:
        last_pattern = re.escape(last) + "(?:e?s)?"
    return " ?".join([*(re.escape(word) for word in first), last_pattern])
