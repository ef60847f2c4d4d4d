"""Fit which sentences talk round a fault, for ``honesty/talk.py``: ``python -m tests.fit_talk``.

Fitted on the example sentences ``<tag>_ways.tsv`` of all four languages, on the phrases that the misleading texts of
the half ``build`` use, and, as talking round nothing, on the sentences of its honest texts and on those that tell a
state of a thing. The half ``measured`` is not read.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import cache
from typing import Any

from data.catalogue.reader import class_names, find_class
from listing_templates.class_texts import class_texts
from listing_templates.honesty.network import Network
from listing_templates.honesty.said import Said
from listing_templates.honesty.sentences import pieces_of
from listing_templates.honesty.talk import PLAIN, marks_of
from listing_templates.honesty.topics import examples_of
from listing_templates.honesty.vocabulary import Vocabulary, vocabulary_of
from listing_templates.honesty.ways import phrases_in
from tests.fit_states import KINDS, LANGUAGES, said_of, texts_of, vocabulary_for, vocabulary_of_text
from tests.networks import EXAMPLES, Row, fit, write

LEAST_OF_A_PIECE = 0.03  # chance by the first fit from which a piece may be what takes a way
# The names of the phrases for the numbers of ways in the corpus.
NAMED = {
    5: ("hedge", "doubt"), 6: ("shrink",), 7: ("usual", "belittle"), 8: ("cover",), 9: ("guess",), 10: ("excuse",),
    11: ("past",), 12: ("superlative", "as new"), 14: ("gilded part",), 15: ("gilded work",), 16: ("sealed",),
    17: ("runtime", "new cell"), 19: ("way round", "origin"), 20: ("wiped",), 21: ("pushed",), 22: ("rights",),
    24: ("price story",), 25: ("life story",), 26: ("rest praised",), 27: ("quirk",), 28: ("danger renamed",),
    29: ("complete", "original accessory"), 31: ("by design",), 32: ("outcome",),
}  # fmt: skip


def main() -> None:
    """Fit all languages together and write the network."""
    rows = way_rows()
    rows += piece_rows(rows, fit(rows, members=1))
    write(fit(rows), "ways")
    print(f"ways: {len(rows)} sentences")


def way_rows(without: Collection[str] = ()) -> list[Row]:
    """Return the rows of all languages, without the texts of these numbers."""
    whole = [row for tag in LANGUAGES for row in (*example_rows(tag), *plain_rows(tag), *corpus_rows(tag, without))]
    # A piece of a sentence that talks round nothing does so neither; which of another does, ``piece_rows`` guesses.
    pieces = [Row(piece, (), PLAIN) for row in whole if row.label == PLAIN for piece in pieces_of(row.sentence)]
    return [*whole, *pieces]


def piece_rows(rows: Sequence[Row], network: Network) -> list[Row]:
    """Return of each sentence that takes a way the piece that does so likeliest by a first fit, if at all.

    Fitted again with these, as in Andrews et al. 2002, "Support vector machines for multiple-instance learning".
    """
    asked = [row for row in rows if row.label != PLAIN]
    pieces = [(row, piece) for row in asked for piece in pieces_of(row.sentence)]
    chances = network.named_chances([piece for _, piece in pieces], [() for _ in pieces])
    best: dict[Row, tuple[float, str]] = {}
    for (row, piece), chance in zip(pieces, chances, strict=True):
        best[row] = max(best.get(row, (LEAST_OF_A_PIECE, "")), (chance[row.label], piece))
    return [Row(piece, (), row.label) for row, (_, piece) in best.items() if piece]


@cache
def example_rows(tag: str) -> tuple[Row, ...]:
    """Return the example sentences of the ways: those that take one, and those that only look like it."""
    lines = (EXAMPLES / f"{tag}_ways.tsv").read_text("utf-8").splitlines()
    split = [line.split("\t") for line in lines]
    return tuple(read(sentence, way if does == "yes" else PLAIN, tag) for way, does, sentence in split)


@cache
def plain_rows(tag: str) -> tuple[Row, ...]:
    """Return the sentences that tell a state of a thing, each read by the words of a class that has it."""
    return tuple(
        row_of(said_of(one.sentence, vocabulary_for(one.key, tag)), one.sentence, PLAIN, vocabulary_for(one.key, tag))
        for one in examples_of(tag)
        if one.key != "battery_share" and not one.text
    )


def read(sentence: str, way: str, tag: str) -> Row:
    """Return a sentence read by the words of the class of which it names most things."""
    readings = [(said_of(sentence, vocabulary), vocabulary) for vocabulary in vocabularies(tag)]
    said, vocabulary = max(readings, key=lambda reading: sum(len(one.names) for one in reading[0]))
    return row_of(said, sentence, way, vocabulary)


def row_of(said: Collection[Said], sentence: str, way: str, vocabulary: Vocabulary) -> Row:
    """Return the row of a sentence that was read."""
    marks = frozenset(phrase.mark for one in said for phrase in phrases_in(one, vocabulary))
    signals = frozenset[str]().union(*(one.signals for one in said))
    return Row(sentence, marks_of(marks, signals), way)


def corpus_rows(tag: str, without: Collection[str] = ()) -> Iterator[Row]:
    """Yield the sentences of the half ``build``, without the texts of these numbers.

    Of a misleading text only those that use a phrase of its ways, or that it names itself as what misleads.
    """
    for number, rows in text_rows(tag).items():
        if number not in without:
            yield from rows


@cache
def text_rows(tag: str) -> Mapping[str, tuple[Row, ...]]:
    """Return the rows of each text of the half ``build``, by its number."""
    entries = (entry for kind in KINDS for entry in texts_of(kind, tag))
    return {entry["id"]: tuple(_rows_of(entry, tag)) for entry in entries}


def _rows_of(entry: Mapping[str, Any], tag: str) -> Iterator[Row]:
    vocabulary = vocabulary_of_text(entry, tag)
    names = [name for number in entry["ways"] for name in NAMED.get(number, ())]
    used, misleads = set(names), entry.get("misleads", "")
    for one in said_of(entry["text"], vocabulary):
        row = row_of([one], one.raw, PLAIN, vocabulary)
        if entry["honest"]:
            yield row
        elif taken := sorted(name for name in used if f"?{name}" in row.marks):
            yield row._replace(label="superlative" if taken[0] == "as new" else taken[0])
        elif names and misleads and (misleads in one.raw or one.raw in misleads):
            yield row._replace(label=names[0])


@cache
def vocabularies(tag: str) -> tuple[Vocabulary, ...]:
    """Return the vocabulary of each packaged class."""
    return tuple(vocabulary_of(class_texts(find_class(name), tag), (), tag) for name in class_names())


if __name__ == "__main__":
    main()
