"""What a sentence is spelt like: how often which words, pairs and triples of words and runs of letters stand in it.

Meaning (``meaning.py``) sees past the words; some ways of speaking are in the words themselves ("as is", "tel quel").
Each run has a number by hashing, so that no list of them has to be kept (Weinberger et al. 2009, "Feature hashing for
large scale multitask learning").
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from sklearn.feature_extraction.text import HashingVectorizer
from sklearn.preprocessing import normalize

from listing_templates.honesty.kept import Kept

SIZE = 2**18  # numbers for words, and again for letters
_SHAPE = {"n_features": SIZE, "alternate_sign": False, "norm": None, "strip_accents": "unicode", "dtype": np.float32}
_WORD = r"(?u)\b\w+\b"
_WORDS = HashingVectorizer(ngram_range=(1, 3), token_pattern=_WORD, **_SHAPE)
_LETTERS = HashingVectorizer(analyzer="char_wb", ngram_range=(3, 5), **_SHAPE)

_FEW = 40  # labels whose weights are held in full: 26 MB for 30 of them
_Row = tuple[NDArray[np.int32], NDArray[np.float32]]  # runs of a sentence, and what each counts


def runs_of(sentences: Sequence[str]) -> sparse.csr_matrix:
    """Return which runs stand in each sentence, as logarithms of counts, shape (sentences, 2 * ``SIZE``).

    Words and letters each have length 1 in each sentence that has any.
    """
    rows = _KEPT.of(sentences)
    starts = np.cumsum([0, *(len(runs) for runs, _ in rows)])
    runs, counts = (np.concatenate(part) for part in zip(*rows, strict=True)) if rows else (np.zeros(0), np.zeros(0))
    return sparse.csr_matrix((counts, runs, starts), shape=(len(sentences), 2 * SIZE), dtype=np.float32)


def _counted(sentences: Sequence[str]) -> Iterator[_Row]:
    parts = [_WORDS.transform(sentences), _LETTERS.transform(sentences)]
    for part in parts:
        part.data = 1 + np.log(part.data)
    table = sparse.csr_matrix(sparse.hstack([normalize(part) for part in parts]))
    for start, end in pairwise(table.indptr):
        yield table.indices[start:end], table.data[start:end]


_KEPT = Kept(_counted)


@dataclass(frozen=True)
class Spelt:
    """What runs of words and letters say of labels: logistic regressions of one label against the others.

    Attributes:
        weights: Shape (runs, labels).
        base: Where each label begins, shape (labels).
    """

    weights: sparse.csr_matrix
    base: NDArray[np.float32]

    def alone(self, runs: sparse.csr_matrix) -> NDArray[np.float64]:
        """Return the chance of each label against all others, as if it were the only one; shape (sentences, labels).

        Args:
            runs: Of each sentence, shape (sentences, runs).
        """
        if self._of_few is None:
            sums = (runs @ self.weights).toarray()
        else:
            places, weights = self._of_few
            shape = runs.shape[0], len(weights)
            sums = sparse.csr_matrix((runs.data, places[runs.indices], runs.indptr), shape=shape) @ weights
        return np.asarray(1 / (1 + np.exp(-np.asarray(sums, dtype=float) - self.base)))

    @cached_property
    def _of_few(self) -> tuple[NDArray[np.int32], NDArray[np.float32]] | None:
        """For few labels the weights in full, five times as fast: for each run its row, and the rows; else None.

        All runs without a weight share the last row, of noughts.
        """
        if self.weights.shape[1] > _FEW:
            return None
        known = np.flatnonzero(np.diff(self.weights.indptr))
        places = np.full(self.weights.shape[0], len(known), dtype=np.int32)
        places[known] = np.arange(len(known))
        return places, np.vstack([self.weights[known].toarray(), np.zeros((1, self.weights.shape[1]), np.float32)])
