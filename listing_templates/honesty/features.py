"""A sentence as the words and stretches of letters that stand in it, by which it is compared with examples."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

from listing_templates.honesty.tokens import without_accents

_WORD = re.compile(r"[^\W_]+")
_LETTERS = (3, 4, 5)


@lru_cache(maxsize=8192)
def features_of(sentence: str) -> tuple[str, ...]:
    """Return the words of a sentence and their stretches of three to five letters, without accents, each as often
    as it stands there. A stretch at the edge of a word holds a blank there, so "not" is another than in "note"."""
    return tuple(_features(without_accents(sentence.casefold())))


def _features(plain: str) -> Iterator[str]:
    for word in _WORD.findall(plain):
        yield "=" + word
        edged = f" {word} "
        for size in _LETTERS:
            yield from (edged[at : at + size] for at in range(max(1, len(edged) - size + 1)))
