"""Small networks that were fitted before: from what a sentence means, and marks set on it, to chances of labels.

One hidden layer of rectified sums, and as many fits as there are members, whose chances are averaged (Breiman 1996,
"Bagging predictors", here over starting points). Where a fit knows the spelling too, that counts for one half: each
errs on other sentences. ``tests/networks.py`` fits and writes them, by scikit-learn.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from listing_templates.honesty.meaning import vectors_of
from listing_templates.honesty.spelling import SIZE, Spelt, runs_of
from listing_templates.honesty.told_as import FOLDER

VECTOR_COUNTS = 5.0  # what the numbers of a sentence, of length 1, count beside a mark, which is 0 or 1


class Member(NamedTuple):
    """One fit: weights into the hidden layer and out of it, with where each begins."""

    into: NDArray[np.float32]
    into_base: NDArray[np.float32]
    out: NDArray[np.float32]
    out_base: NDArray[np.float32]


@dataclass(frozen=True)
class Network:
    """Fits of one sort.

    Attributes:
        labels: What can be told apart.
        marks: What may be set on a sentence, one input each, after its 512 numbers.
        members: The fits.
        spelt: The fit on spelling, if any.
    """

    labels: tuple[str, ...]
    marks: tuple[str, ...]
    members: tuple[Member, ...]
    spelt: Spelt | None = None

    def chances(self, sentences: Sequence[str], marks: Sequence[Collection[str]] | None = None) -> NDArray[np.float64]:
        """Return the chance of each label, shape (sentences, labels), each row together 1.

        Args:
            sentences: As written.
            marks: Of each sentence those set on it, unknown ones counting nothing; None: there are none.
        """
        return self.chances_and_alone(sentences, marks)[0]

    def chances_and_alone(
        self, sentences: Sequence[str], marks: Sequence[Collection[str]] | None = None
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return the same, and the chance of each label against all others by its spelling, 0 without such a fit."""
        by_meaning = self._by_meaning(vectors_of(sentences), marks)
        if self.spelt is None:
            return by_meaning, np.zeros_like(by_meaning)
        alone = self.spelt.alone(runs_of(sentences))
        return (by_meaning + alone / alone.sum(axis=1, keepdims=True)) / 2, alone

    def _by_meaning(
        self, vectors: NDArray[np.float32], marks: Sequence[Collection[str]] | None
    ) -> NDArray[np.float64]:
        inputs = self.inputs(vectors, marks)
        sums = np.zeros((len(inputs), len(self.labels)))
        for into, into_base, out, out_base in self.members:
            raised = (np.maximum(inputs @ into + into_base, 0) @ out + out_base).astype(float)
            raised = np.exp(raised - raised.max(axis=1, keepdims=True))
            sums += raised / raised.sum(axis=1, keepdims=True)
        return sums / len(self.members)

    def named_chances(
        self, sentences: Sequence[str], marks: Sequence[Collection[str]] | None = None
    ) -> tuple[Mapping[str, float], ...]:
        """Return the same as ``chances``, for each sentence label -> chance."""
        return tuple(dict(zip(self.labels, row, strict=True)) for row in self.chances(sentences, marks).tolist())

    def inputs(self, vectors: NDArray[np.float32], marks: Sequence[Collection[str]] | None) -> NDArray[np.float32]:
        """Return what the networks are given, shape (sentences, 512 + marks)."""
        table = np.zeros((len(vectors), len(self.marks)), dtype=np.float32)
        for row, found in enumerate(marks or ()):
            for mark in found:
                if mark in self._places:
                    table[row, self._places[mark]] = 1
        return np.hstack([VECTOR_COUNTS * vectors, table])

    @cached_property
    def _places(self) -> Mapping[str, int]:
        return {mark: place for place, mark in enumerate(self.marks)}


@cache
def fitted_network(name: str) -> Network:
    """Return the network in ``examples/<name>.npz``."""
    with (FOLDER / f"{name}.npz").open("rb") as source, np.load(source, allow_pickle=False) as kept:
        arrays = {key: kept[key] for key in kept.files}
    members = tuple(
        Member(*(arrays[f"{part}_{number}"].astype(np.float32) for part in Member._fields))
        for number in range(int(arrays["members"]))
    )
    return Network(tuple(arrays["labels"].tolist()), tuple(arrays["marks"].tolist()), members, _spelt_in(arrays))


def _spelt_in(arrays: Mapping[str, NDArray[Any]]) -> Spelt | None:
    if "runs" not in arrays:
        return None
    shape = 2 * SIZE, len(arrays["labels"])
    cells = arrays["weights"].astype(np.float32), (arrays["runs"], arrays["columns"].astype(np.int32))
    return Spelt(sparse.csr_matrix(cells, shape=shape), arrays["spelt_base"].astype(np.float32))
