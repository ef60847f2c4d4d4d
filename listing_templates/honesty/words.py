"""The words of one language that the honesty reader knows: ``words/<tag>.toml``, explained in ``words/README.md``."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files

from pydantic import Field

from pricing.errors import NotFound
from pricing.records.base import Record

FOLDER = files("listing_templates.honesty") / "words"


class Evidence(Record):
    """Words that disclose a state: from each list of ``every`` one phrase must stand in the sentence.

    Attributes:
        every: Lists of phrases; ``{state}`` stands for the fact's own number.
        never: Phrases that take the disclosure back.
        stems: Parts of words; a word that holds one does for the first list.
        beside: Parts of words beside which alone the last list is asked for ("measured": then by whom).
    """

    every: tuple[tuple[str, ...], ...]
    never: tuple[str, ...] = ()
    stems: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()


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


class Words(Record):
    """Words that the honesty reader knows.

    Attributes:
        signals: What is asserted ("works", "dead", "third-party", ...) -> phrases.
        negators: Words that turn the next signal round.
        negators_after: Words that turn the signal before them round.
        particles: Words before a negated verb (French "ne"): without one, only the very next word negates.
        links: Words between a negator and what it denies (French "pas de son").
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
        counters: Attribute that counts something -> words that its number stands by ("shutter").
        battery: Words that a share in percent speaks of.
        grade: Words before a grade.
        idle: Words without weight when two sentences are compared.
        months: Names of months, before which a number with a full stop is a day (German "14. Januar").
        abbreviations: Words whose full stop does not end a sentence.
        ways: Way of misleading -> phrases; what makes them a finding is in ``ways.py``.
        innocent: Phrases that hold a phrase of a way and mean no harm ("you should").
        denials: Phrases before one of a way that take it back ("do not expect").
        taken_back: The same behind it ("is no longer assured").
        attributions: Phrases that make it the word of somebody else ("the maker says").
        also: Words between two claims, at which a negation ends ("and").
        out_of: Words between the numbers of a scale ("out of").
        variants: Phrases that speak of other variants than this unit.
        conditions: Words that make a sentence a condition, in which "may" hides nothing ("if").
        wishes: Words of somebody who looks for what this unit may not be ("whoever wants").
        turned_away: Words that send such a one elsewhere ("must pass on").
        asking: Words that retell a question ("you ask whether").
        another: Words at the beginning of a piece that speaks of a unit which is sound ("a good one").
        within: Words that a claim is of the inside, not of the surface ("inside").
        not_included: Phrases that look like ``included`` and are not ("with any").
        uses: Use of the unit -> names of all functions that it needs.
    """

    signals: dict[str, tuple[str, ...]]
    negators: tuple[str, ...]
    negators_after: tuple[str, ...] = ()
    particles: tuple[str, ...] = ()
    links: tuple[str, ...] = ()
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
    counters: dict[str, tuple[str, ...]] = Field(default_factory=dict)
    battery: tuple[str, ...] = ()
    grade: tuple[str, ...] = ()
    idle: tuple[str, ...] = ()
    months: tuple[str, ...] = ()
    abbreviations: tuple[str, ...] = ()
    ways: dict[str, tuple[str, ...]] = Field(default_factory=dict)
    innocent: tuple[str, ...] = ()
    denials: tuple[str, ...] = ()
    taken_back: tuple[str, ...] = ()
    attributions: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    out_of: tuple[str, ...] = ()
    variants: tuple[str, ...] = ()
    conditions: tuple[str, ...] = ()
    wishes: tuple[str, ...] = ()
    turned_away: tuple[str, ...] = ()
    asking: tuple[str, ...] = ()
    another: tuple[str, ...] = ()
    within: tuple[str, ...] = ()
    not_included: tuple[str, ...] = ()
    uses: dict[str, tuple[str, ...]] = Field(default_factory=dict)


@cache
def words_tags() -> tuple[str, ...]:
    """Return the tags of the languages whose texts can be read, sorted."""
    return tuple(sorted(entry.name[:-5] for entry in FOLDER.iterdir() if entry.name.endswith(".toml")))


@cache
def read_words(tag: str) -> Words:
    """Return the words of a language.

    Raises:
        NotFound: There are none; the message names the languages that have words.
    """
    if tag not in words_tags():
        raise NotFound(f'no words to read "{tag[:20]}" by; there are {", ".join(words_tags())}')
    return Words.model_validate(tomllib.loads((FOLDER / f"{tag}.toml").read_text(encoding="utf-8")))
