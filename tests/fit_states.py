"""Fit what sentences say of things, for ``listing_templates/honesty/states.py``: ``python -m tests.fit_states``.

Fitted on the example sentences and on the honest texts of the half ``build``, of all four languages together: what the
rules, or the texts' own list, take as the telling of a defect, against what tells none. The half ``measured`` is not
read. Writes ``<tag>_told.tsv`` too, the sentences of those texts that tell of one thing or two.
"""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from data.catalogue.reader import class_names, find_class
from data.importing.unit_json import read_unit
from listing_templates.class_texts import class_texts
from listing_templates.composition import sentences_of
from listing_templates.disclosures import disclosed_by
from listing_templates.fact_texts import facts_in
from listing_templates.honesty.evidence import disclosures
from listing_templates.honesty.said import Said, said_in
from listing_templates.honesty.statements import statements_of
from listing_templates.honesty.told_as import GOOD, MARKED, TOLD_AS, told_as
from listing_templates.honesty.topics import examples_of
from listing_templates.honesty.visible import as_written
from listing_templates.honesty.vocabulary import Vocabulary, vocabulary_of
from listing_templates.wording import Wording
from pricing.records.unit import Unit
from tests.networks import EXAMPLES, Row, fit, write

LANGUAGES = ("en", "de", "fr", "es")
CORPUS = Path(__file__).parent / "data" / "listings" / "build"
# Kinds of files whose honest texts say where they tell what.
TELLING = ("wide", "new", "hands", "fresh", "further", "later", "last", "next", "after", "manners", "seen", "waiting")
KINDS = ("texts", "more", "other", "long", *TELLING)
PRAISED = {2, 3, 4, 26, 31}  # ways by which a text says that all is well with what is not
SHORT_COUNT = 5  # times that a short telling is shown, read with what the rules hear in it and without
MOST_TOLD = 2  # things that a sentence tells of and still is an example for each


def main() -> None:
    """Fit all languages together and write the network."""
    for tag in LANGUAGES:
        lines = told_lines(tag, honest_of_all(tag))
        (EXAMPLES / f"{tag}_told.tsv").write_text("".join(lines), encoding="utf-8")
    examples_of.cache_clear()
    rows = [row for tag in LANGUAGES for row in (*example_rows(tag), *short_rows(tag), *corpus_rows(tag))]
    write(fit(rows), "states")
    print(f"states: {len(rows)} sentences")


def honest_of_all(tag: str) -> list[dict[str, Any]]:
    """Return the honest texts of a language, of all kinds, in their order."""
    return [entry for kind in KINDS for entry in honest_texts(kind, tag)]


def told_lines(tag: str, entries: Iterable[dict[str, Any]]) -> Iterator[str]:
    """Yield a line for each sentence of honest texts that tells of one thing or two: key, state, sentence, text."""
    for entry in entries:
        unit = read_unit(CORPUS / "units" / f"{entry['unit']}.json")
        facts = {fact.key: fact for fact in facts_in(unit, find_class(unit.device_class), tag)}
        said, told, states = read(entry["text"], unit, tag)
        quotes = list(entry.get("tells", {}).items())
        for one in () if quotes else said:
            keys = [key for key, places in told.items() if one.start in places and key in states]
            quotes += [(key, one.raw) for key in keys if len(keys) <= MOST_TOLD]
        for key, quote in quotes:
            if key in states:
                state = "mark" if facts[key].noun == "mark" else facts[key].state
                yield "\t".join((facts[key].thing, state, " ".join(quote.split()), entry["id"])) + "\n"


def short_rows(tag: str) -> list[Row]:
    """Return the shortest tellings, which name no thing ("nobody tried it"), several times each: texts have few."""
    lines = (EXAMPLES / f"{tag}_short.tsv").read_text("utf-8").splitlines()
    said = (line.split("\t") for line in lines)
    rows = [Row(sentence, signals_in(sentence, vocabulary_for("", tag)), told) for told, sentence in said]
    return [*rows, *(row._replace(marks=frozenset()) for row in rows)] * SHORT_COUNT


@cache
def example_rows(tag: str) -> tuple[Row, ...]:
    """Return the example sentences of a language, each read by the words of a class that has its thing."""
    return tuple(
        Row(one.sentence, signals_in(one.sentence, vocabulary_for(one.key, tag)), TOLD_AS[one.state])
        for one in examples_of(tag)
        if one.key != "battery_share" and not one.text
    )


def corpus_rows(tag: str, without: Collection[str] = ()) -> Iterator[Row]:
    """Yield the sentences of the honest texts of the half ``build``, without those of these numbers.

    Of the others only what is praised although it is not well.
    """
    for kind in KINDS:
        for entry in honest_texts(kind, tag):
            if entry["id"] not in without:
                yield from text_rows(kind, tag)[entry["id"]]
        for entry in misleading_texts(kind, tag):
            if entry["id"] not in without and set(entry["ways"]) <= PRAISED and "misleads" in entry:
                yield Row(entry["misleads"], signals_in(entry["misleads"], vocabulary_of_text(entry, tag)), GOOD)


def honest_texts(kind: str, tag: str) -> list[dict[str, Any]]:
    """Return the honest texts of one file of the half ``build``."""
    return [entry for entry in texts_of(kind, tag) if entry["honest"]]


def misleading_texts(kind: str, tag: str) -> list[dict[str, Any]]:
    """Return the misleading texts of one file of the half ``build``."""
    return [entry for entry in texts_of(kind, tag) if not entry["honest"]]


@cache
def texts_of(kind: str, tag: str) -> list[dict[str, Any]]:
    """Return the texts of one file of the half ``build``, none where there is no such file."""
    path = CORPUS / f"{kind}_{tag}.toml"
    return list(tomllib.loads(path.read_text("utf-8"))["text"]) if path.exists() else []


def vocabulary_of_text(entry: Mapping[str, Any], tag: str) -> Vocabulary:
    """Return the vocabulary of the class of the unit that a text is about."""
    device_class = find_class(read_unit(CORPUS / "units" / f"{entry['unit']}.json").device_class)
    return vocabulary_of(class_texts(device_class, tag), (), tag)


@cache
def text_rows(kind: str, tag: str) -> Mapping[str, tuple[Row, ...]]:
    """Return the rows of each honest text of one file, by its number."""
    return {entry["id"]: tuple(_rows_of(entry, tag)) for entry in honest_texts(kind, tag)}


def _rows_of(entry: Mapping[str, Any], tag: str) -> Iterator[Row]:
    """Yield the sentences that tell one sort of thing only, and those that tell nothing."""
    unit = read_unit(CORPUS / "units" / f"{entry['unit']}.json")
    said, told, states = read(entry["text"], unit, tag)
    tells: Mapping[str, str] = entry.get("tells", {})
    for one in said:
        keys = {key for key, places in told.items() if one.start in places}
        keys |= {key for key, quote in tells.items() if quote in one.raw or one.raw in quote}
        found = {states[key] for key in keys if key in states}
        if len(found) == 1:
            yield Row(one.in_full, one.signals, found.pop())
        elif not found:
            yield Row(one.in_full, one.signals, GOOD)


def read(text: str, unit: Unit, tag: str) -> tuple[tuple[Said, ...], Mapping[str, frozenset[int]], Mapping[str, str]]:
    """Return the sentences of a text, which facts the rules find disclosed where, and as what each is told."""
    device_class = find_class(unit.device_class)
    facts = {fact.key: fact for fact in facts_in(unit, device_class, tag)}
    wanted = {key for one in sentences_of(unit, device_class, Wording(tag)) for key in disclosed_by(one)}
    vocabulary = vocabulary_of(class_texts(device_class, tag), facts.values(), tag)
    said = said_of(text, vocabulary)
    told = disclosures([facts[key] for key in sorted(wanted)], said, vocabulary)
    states = {key: MARKED if facts[key].noun == "mark" else told_as(facts[key].state) for key in wanted}
    return said, told, {key: state for key, state in states.items() if state}


def said_of(text: str, vocabulary: Vocabulary) -> tuple[Said, ...]:
    """Return the sentences of a text."""
    seen = as_written(text)
    return tuple(said_in(statements_of(seen, seen.text, vocabulary)))


def signals_in(sentence: str, vocabulary: Vocabulary) -> frozenset[str]:
    """Return what the rules take a sentence to assert."""
    return frozenset[str]().union(*(one.signals for one in said_of(sentence, vocabulary)))


@cache
def vocabulary_for(key: str, tag: str) -> Vocabulary:
    """Return the vocabulary of the first class that has the thing, else of the first class."""
    noun, _, name = key.partition(":")
    classes = [find_class(one) for one in class_names()]
    named = {"function": "functions", "part": "parts", "lock": "locks", "surface": "surfaces"}
    having = [one for one in classes if name and any(thing.name == name for thing in getattr(one, named[noun]))]
    return vocabulary_of(class_texts((having or classes)[0], tag), (), tag)


if __name__ == "__main__":
    main()
