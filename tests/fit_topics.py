"""Fit what sentences speak of, for ``listing_templates/honesty/topics.py``: ``python -m tests.fit_topics``.

Fitted on the example sentences, on the names of all things of the packaged classes, and on the honest texts of the half
``build``, of all four languages together. The half ``measured`` is not read.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from listing_templates.honesty.topics import NOTHING, WITH_STATE, examples_of
from tests.fit_states import KINDS, LANGUAGES, honest_texts, said_of, vocabulary_of_text
from tests.fit_talk import vocabularies
from tests.networks import Row, fit, write

LEAST_WEIGHT = 0.5  # of so many topics smaller ones only fill the file: 90.4 % of topics right first, and 90.8 %


def main() -> None:
    """Fit all languages together and write the network."""
    rows = topic_rows()
    write(fit(rows, least_weight=LEAST_WEIGHT), "topics")
    print(f"topics: {len(rows)} sentences of {len({row.label for row in rows})} topics")


def topic_rows(without: Collection[str] = (), tags: Collection[str] = LANGUAGES) -> list[Row]:
    """Return the rows of these languages, without the texts of these numbers."""
    return [row for tag in tags for row in (*_known(tag, without), *_nothing(tag, without))]


def _known(tag: str, without: Collection[str]) -> Iterator[Row]:
    named = {pair for vocabulary in vocabularies(tag) for pair in vocabulary.spoken}
    keys = {key for key, _ in named} | WITH_STATE
    yield from (Row(name, (), key) for key, name in sorted(named))
    for one in examples_of(tag):
        if one.key in keys and one.text not in without:
            yield Row(one.sentence, (), one.topic)


def _nothing(tag: str, without: Collection[str]) -> Iterator[Row]:
    """Yield the sentences of honest texts that name no thing and tell none."""
    for entry in (entry for kind in KINDS for entry in honest_texts(kind, tag)):
        if entry["id"] in without:
            continue
        quotes = list(entry.get("tells", {}).values())
        for one in said_of(entry["text"], vocabulary_of_text(entry, tag)):
            told = any(quote in one.raw or one.raw in quote for quote in quotes)
            if quotes and not told and not one.names and not one.signals:
                yield Row(one.raw, (), NOTHING)


if __name__ == "__main__":
    main()
