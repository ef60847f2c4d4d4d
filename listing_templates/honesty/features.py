"""A sentence as the words and stretches of letters that stand in it, by which it is compared with examples."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import lru_cache

from listing_templates.honesty.tokens import without_accents

_WORD = re.compile(r"[^\W_]+")
_LETTERS = (3, 4)


@lru_cache(maxsize=8192)
def features_of(sentence: str) -> tuple[str, ...]:
    """Return the words of a sentence and their stretches of three and four letters, without accents, each as often
    as it stands there. A stretch at the edge of a word holds a blank there, so "not" is another than in "note"."""
    return tuple(_features(words_of(sentence)))


def words_of(sentence: str) -> list[str]:
    """Return the words of a sentence in order, in small letters, without accents."""
    return _WORD.findall(without_accents(sentence.casefold()))


def _features(words: Iterable[str]) -> Iterator[str]:
    for word in words:
        yield "=" + word
        edged = f" {word} "
        for size in _LETTERS:
            yield from (edged[at : at + size] for at in range(max(1, len(edged) - size + 1)))
