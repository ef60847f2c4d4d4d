"""Every language says every sentence: none is missing, to be looked at, or with other fields than the English one."""

from __future__ import annotations

import string
from collections.abc import Iterator

import pytest
from babel.messages.catalog import Message

from listing_templates.catalogues import (
    CLASSES,
    SENTENCES,
    Pattern,
    class_catalogue,
    read_catalogue,
    texts_of,
    translated,
    translated_tags,
)

TAGS = translated_tags()
NAMES = (SENTENCES, CLASSES)
# Catalogues that are still being filled. Strict: who fills the last entry must take the language out here.
UNDER_WAY: set[tuple[str, str]] = set()
FILLED = [
    pytest.param(tag, name, marks=[pytest.mark.xfail(strict=True)] if (tag, name) in UNDER_WAY else [])
    for tag in TAGS
    for name in NAMES
]


def entries(tag: str, name: str) -> Iterator[Message]:
    return (message for message in read_catalogue(tag, name) if message.id)


def translated_entries(tag: str, name: str) -> list[Message]:
    return [message for message in entries(tag, name) if texts_of(message)]


def english_of(message: Message) -> tuple[str, ...]:
    return message.id if isinstance(message.id, tuple) else (message.id,)


def fields_in(pattern: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(pattern) if name is not None}


def edges(text: str) -> tuple[bool, bool]:
    return text.startswith(" "), text.endswith(" ")


def test_the_four_languages_are_there() -> None:
    assert TAGS == ("de", "es", "fr")


@pytest.mark.parametrize(("tag", "name"), FILLED)
def test_no_language_lacks_a_sentence(tag: str, name: str) -> None:
    missing = [message.context or message.id for message in entries(tag, name) if not texts_of(message)]
    assert missing == []


@pytest.mark.parametrize("tag", TAGS)
def test_every_sentence_has_the_fields_of_the_english_one(tag: str) -> None:
    for message in translated_entries(tag, SENTENCES):
        english, own = english_of(message), texts_of(message)
        assert fields_in(own[-1]) == fields_in(english[-1]), message.context
        # A singular may write its number as a word, nothing else.
        assert fields_in(english[-1]) - fields_in(own[0]) <= {"count"}, message.context
        assert fields_in(own[0]) <= fields_in(english[-1]), message.context


@pytest.mark.parametrize("tag", TAGS)
def test_pieces_keep_the_blanks_that_join_them_to_a_sentence(tag: str) -> None:
    for message in translated_entries(tag, SENTENCES):
        for text in texts_of(message):
            # A comma may join as well as a blank: ", fitted on" and " on".
            english, own = edges(english_of(message)[0]), edges(text)
            assert own == english or (english == (True, False) and text[0] in ",;("), (message.context, text)


@pytest.mark.parametrize("tag", TAGS)
def test_texts_of_classes_end_as_the_english_ones_do(tag: str) -> None:
    for message in translated_entries(tag, CLASSES):
        (own,) = texts_of(message)
        assert own == own.strip()
        assert own.endswith(".") == message.id.endswith("."), own
        assert "{" not in own


@pytest.mark.parametrize("tag", TAGS)
def test_no_sentence_raises_its_voice_or_stays_in_english(tag: str) -> None:
    said = [(message, text) for message in translated_entries(tag, SENTENCES) for text in texts_of(message)]
    assert not [text for _, text in said if "!" in text]
    same = {english_of(message)[-1] for message, text in said if text == english_of(message)[-1]}
    assert len(same) <= max(2, len(said) // 20), same


def test_a_fuzzy_or_empty_entry_counts_as_not_translated() -> None:
    assert texts_of(None) == ()
    assert texts_of(Message("a", "")) == ()
    assert texts_of(Message(("a", "b"), ("ein", ""))) == ()
    assert texts_of(Message("a", "ein", flags=["fuzzy"])) == ()
    assert texts_of(Message(("a", "b"), ("ein", "zwei"))) == ("ein", "zwei")


def test_english_stands_in_where_a_language_has_no_such_sentence() -> None:
    english = Pattern(other="Never heard of {it}.")
    assert translated("de", "sentence.never", english) == english


def test_english_needs_no_catalogue() -> None:
    assert class_catalogue("en") == {}
