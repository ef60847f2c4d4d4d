"""The words by which the honesty reader reads a language."""

from __future__ import annotations

import pytest

from listing_templates.honesty.words import read_words, words_tags
from pricing.errors import NotFound
from pricing.records.device_class import MARK_KINDS


@pytest.mark.parametrize("tag", words_tags())
def test_each_language_knows_every_kind_of_mark_and_turns_only_signals_it_has(tag: str) -> None:
    words = read_words(tag)
    assert {f"kind:{kind}" for kind in MARK_KINDS} <= set(words.signals)
    assert set(words.turned) <= set(words.signals)


@pytest.mark.parametrize("tag", words_tags())
def test_phrases_are_spelled_as_a_text_is_read(tag: str) -> None:
    phrases = [phrase for words in read_words(tag).signals.values() for phrase in words]
    assert all(phrase == phrase.casefold() and "-" not in phrase for phrase in phrases)


def test_a_language_without_words_is_refused_with_those_that_have_some() -> None:
    with pytest.raises(NotFound, match="there are"):
        read_words("xx")
