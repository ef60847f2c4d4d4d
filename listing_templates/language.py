"""A language as data: its sentence patterns, phrases, headings and kinds of mark.

English is the source, in ``languages/en.toml``; the others are translations of it (``listing_templates.catalogues``).
"""

from __future__ import annotations

import tomllib
from functools import cache
from typing import Any

from pydantic import Field

from listing_templates.catalogues import FOLDER, Pattern, translated, translated_tags
from pricing.errors import NotFound
from pricing.records.base import Record
from pricing.records.listing import Section

ENGLISH = "en"
TABLES = {"sentences": "sentence", "phrases": "phrase", "headings": "heading", "kinds": "kind"}

__all__ = ["ENGLISH", "Claim", "Evidence", "Language", "Pattern", "Reading", "language_tags", "read_language"]


class Evidence(Record):
    """Words that disclose a state: from each list of ``every`` one phrase must stand in the sentence.

    Attributes:
        every: Lists of phrases; ``{state}`` stands for the fact's own number.
        never: Phrases that take the disclosure back.
    """

    every: tuple[tuple[str, ...], ...]
    never: tuple[str, ...] = ()


class Claim(Record):
    """A claim about the whole unit, and the recorded states it is at odds with.

    Attributes:
        fact: Key of the fact it speaks of.
        phrases: How people say it.
        against: States that it contradicts.
        unsupported: States that do not bear it out; "*" means all others but ``borne_out``.
        borne_out: States in which it may be said.
    """

    fact: str
    phrases: tuple[str, ...]
    against: tuple[str, ...] = ()
    borne_out: tuple[str, ...] = ()


class Reading(Record):
    """Words that the honesty reader knows.

    Attributes:
        signals: What is asserted ("works", "dead", "third-party", ...) -> phrases.
        negators: Words that turn the next signal round.
        turned: Signal -> what it means when negated.
        breaks: Words that end a clause.
        exceptions: Words after which something is left out of a claim.
        whole: Subjects that mean the whole unit.
        rewrites: Pairs (as written, in full), applied in order.
        firm: Phrases that can be a claim about the whole unit.
        unit_is_free: Phrases that say that the whole unit is free of locks.
        bare: Phrases that are one when nothing stands before them.
        pronouns: Subjects that mean what the sentence before spoke of.
        rest: Words that limit a claim to what was not named yet.
        aliases: Key of a fact -> other names that people use.
        groups: Kin -> words for all functions of that kin.
        evidence: "key:state" -> words that disclose it.
        claims: Claims about the whole unit.
        accessories: Noun -> other names; claimed with one of ``included``.
        included: Words that say that something comes with the unit.
        numbers: Word -> number.
        same_unit: Larger unit -> factors to the smaller ("TB" -> GB).
        ambiguous_units: Units that are also words.
        battery: Words that a share in percent speaks of.
        grade: Words before a grade.
        idle: Words without weight when two sentences are compared.
        abbreviations: Words whose full stop does not end a sentence.
    """

    signals: dict[str, tuple[str, ...]]
    negators: tuple[str, ...]
    turned: dict[str, str]
    breaks: tuple[str, ...]
    exceptions: tuple[str, ...]
    whole: tuple[str, ...]
    rewrites: tuple[tuple[str, str], ...]
    firm: tuple[str, ...]
    unit_is_free: tuple[str, ...] = ()
    bare: tuple[str, ...]
    pronouns: tuple[str, ...]
    rest: tuple[str, ...]
    aliases: dict[str, tuple[str, ...]] = Field(default_factory=dict)
    groups: dict[str, tuple[str, ...]] = Field(default_factory=dict)
    evidence: dict[str, Evidence]
    claims: tuple[Claim, ...] = ()
    accessories: dict[str, tuple[str, ...]] = Field(default_factory=dict)
    included: tuple[str, ...] = ()
    numbers: dict[str, int] = Field(default_factory=dict)
    same_unit: dict[str, dict[str, tuple[int, ...]]] = Field(default_factory=dict)
    ambiguous_units: tuple[str, ...] = ()
    battery: tuple[str, ...] = ()
    grade: tuple[str, ...] = ()
    idle: tuple[str, ...] = ()
    abbreviations: tuple[str, ...] = ()


class Language(Record):
    """Everything that depends on the language.

    Attributes:
        tag: Such as "en", written into the page.
        locale: Whose numbers, days, units and money are used (CLDR).
        sentences: Identifier -> pattern.
        phrases: Pieces of sentences.
        headings: Section -> heading.
        kinds: Kind of mark -> pattern with ``{count}``.
        words: Words in which the honesty reader looks for facts.
    """

    tag: str
    locale: str
    sentences: dict[str, Pattern]
    phrases: dict[str, Pattern]
    headings: dict[Section, str]
    kinds: dict[str, Pattern]
    reading: Reading


@cache
def read_language(tag: str) -> Language:
    """Return the language of this tag.

    Raises:
        NotFound: There is no such language; the message names those there are.
    """
    if tag not in language_tags():
        raise NotFound(f'no language "{tag[:20]}"; there are {", ".join(language_tags())}')
    tables = _english_tables()
    read: dict[str, Any] = {"reading": tables["reading"], "tag": tag, "locale": tables["locale"], **english_patterns()}
    if tag != ENGLISH:
        for table, prefix in TABLES.items():
            patterns = read[table]
            read[table] = {key: translated(tag, f"{prefix}.{key}", pattern) for key, pattern in patterns.items()}
        read["locale"] = tag
    read["headings"] = {section: pattern.other for section, pattern in read["headings"].items()}
    return Language.model_validate(read)


def english_patterns() -> dict[str, dict[str, Pattern]]:
    """Return the English patterns: table ("sentences", "phrases", "headings", "kinds") -> identifier -> pattern."""
    return {
        table: {
            key: Pattern(other=value) if isinstance(value, str) else Pattern.model_validate(value)
            for key, value in _english_tables()[table].items()
        }
        for table in TABLES
    }


@cache
def language_tags() -> tuple[str, ...]:
    """Return the tags of all languages there are: English, then those that have a catalogue."""
    return (ENGLISH, *translated_tags())


def common_texts() -> tuple[str, ...]:
    """Return English words that benches often write into free fields ("factory reset", "charger")."""
    return tuple(_english_tables()["common"]["texts"])


@cache
def _english_tables() -> dict[str, Any]:
    return tomllib.loads((FOLDER / f"{ENGLISH}.toml").read_text(encoding="utf-8"))
