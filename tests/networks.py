"""Fit the small networks of the reader by scikit-learn, and write them as arrays."""

from __future__ import annotations

import warnings
from collections import Counter
from collections.abc import Collection, Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np
from scipy import sparse
from sklearn.exceptions import ConvergenceWarning
from sklearn.linear_model import SGDClassifier
from sklearn.neural_network import MLPClassifier

from listing_templates.honesty.meaning import vectors_of
from listing_templates.honesty.network import Member, Network
from listing_templates.honesty.spelling import Spelt, runs_of

EXAMPLES = Path(__file__).parents[1] / "listing_templates" / "honesty" / "examples"
HIDDEN = 128
STRENGTH = 0.3  # of the penalty on large weights
ROUNDS = 20
BATCH = 512
MEMBERS = 2
SPELT_STRENGTH = 1e-6  # of the penalty on large weights of the spelling
SPELT_ROUNDS = 8
LEAST_WEIGHT = 0.3  # smaller weights of runs are left out, unless a fit says otherwise
_KEPT: dict[str, np.ndarray] = {}
LEAST_TIMES = 20  # marks that are set on fewer sentences are left out


class Row(NamedTuple):
    """A sentence, the marks set on it, and what is to be told of it."""

    sentence: str
    marks: Collection[str]
    label: str


def fit(
    rows: Sequence[Row], members: int = MEMBERS, rounds: int = ROUNDS, *, least_weight: float = LEAST_WEIGHT
) -> Network:
    """Return a network fitted on these rows; the same rows in the same order give the same one.

    Weights of runs that are smaller than ``least_weight`` are left out.
    """
    times = Counter(mark for row in rows for mark in row.marks)
    marks = tuple(sorted(mark for mark, often in times.items() if often >= LEAST_TIMES))
    blank = Network(tuple(sorted({row.label for row in rows})), marks, ())
    inputs = blank.inputs(_vectors_of([row.sentence for row in rows]), [row.marks for row in rows])
    labels = np.array([row.label for row in rows])
    fits = tuple(_member(inputs, labels, seed, rounds) for seed in range(members))
    return Network(blank.labels, marks, fits, _spelt([row.sentence for row in rows], labels, least_weight))


def _spelt(sentences: Sequence[str], labels: np.ndarray, least_weight: float) -> Spelt:
    """Return what the spelling says of each label against all others; ``labels`` in the order of their names."""
    model = SGDClassifier(
        loss="log_loss", alpha=SPELT_STRENGTH, max_iter=SPELT_ROUNDS, tol=None, random_state=0, n_jobs=-1
    )
    model.fit(runs_of(sentences), labels)
    weights = np.where(np.abs(model.coef_) >= least_weight, model.coef_, 0).astype(np.float16).astype(np.float32)
    return Spelt(sparse.csr_matrix(weights.T), model.intercept_.astype(np.float32))


def _vectors_of(sentences: Sequence[str]) -> np.ndarray:
    """Return the numbers of sentences, kept for the next fit: they are the same for all."""
    fresh = [sentence for sentence in dict.fromkeys(sentences) if sentence not in _KEPT]
    _KEPT.update(zip(fresh, vectors_of(fresh), strict=True))
    return np.array([_KEPT[sentence] for sentence in sentences])


def _member(inputs: np.ndarray, labels: np.ndarray, seed: int, rounds: int) -> Member:
    model = MLPClassifier((HIDDEN,), alpha=STRENGTH, batch_size=BATCH, max_iter=rounds, random_state=seed)
    with warnings.catch_warnings():
        # It is stopped after some rounds on purpose: more of them only learn the examples by heart.
        warnings.simplefilter("ignore", ConvergenceWarning)
        model.fit(inputs, labels)
    (into, out), (into_base, out_base) = model.coefs_, model.intercepts_
    # Kept with half the digits, and used as they are kept.
    return Member(*(part.astype(np.float16).astype(np.float32) for part in (into, into_base, out, out_base)))


def write(network: Network, name: str) -> None:
    """Write a network to ``examples/<name>.npz``."""
    arrays = {
        f"{part}_{number}": array.astype(np.float16)
        for number, member in enumerate(network.members)
        for part, array in member._asdict().items()
    }
    if network.spelt is not None:
        cells = network.spelt.weights.tocoo()
        arrays |= {
            "runs": cells.row.astype(np.int32),
            "columns": cells.col.astype(np.uint16),
            "weights": cells.data.astype(np.float16),
            "spelt_base": network.spelt.base,
        }
    np.savez_compressed(
        EXAMPLES / f"{name}.npz",
        labels=np.array(network.labels),
        marks=np.array(network.marks, dtype=np.str_),
        members=np.array(len(network.members)),
        **arrays,
    )
