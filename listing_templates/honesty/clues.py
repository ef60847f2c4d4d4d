"""What speaks for a sentence's telling a fact, as numbers, and how much of it is enough.

How much each counts, alone and with each other, was fitted on texts whose telling sentences are known
(``tests/fit_second_look.py``).
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from listing_templates.honesty.told_as import FOLDER

CLUES = (
    "likeness", "lead", "likest", "likest of its noun", "says so", "says good", "named", "praised", "long",
    "of a condition", "means it",
    "piece says so", "piece says good",
    "tells another", "lead of untold", "best place", "talks round",
    "like our words",
)  # fmt: skip
TERMS = (*CLUES, *(f"{one} x {other}" for place, one in enumerate(CLUES) for other in CLUES[place:]))


@dataclass(frozen=True)
class Look:
    """One sentence asked about one fact: where it starts, and the numbers named in ``CLUES``."""

    start: int
    clues: tuple[float, ...]


def are_enough(looks: Sequence[Look]) -> list[bool]:
    """Return of each sentence whether it tells the fact that it was asked about."""
    base, weights, enough = _fitted()
    return [bool(chance >= enough) for chance in chances_of([look.clues for look in looks], base, weights)]


def terms_of(clues: Sequence[Sequence[float]]) -> NDArray[np.float64]:
    """Return the clues and the product of each two, named by ``TERMS``: likeness counts where the state is told too.

    Shape (looks, terms).
    """
    table = np.array(clues, dtype=float)
    firsts, seconds = np.triu_indices(table.shape[1])
    return np.hstack([table, table[:, firsts] * table[:, seconds]])


def chances_of(clues: Sequence[Sequence[float]], base: float, weights: Sequence[float]) -> NDArray[np.float64]:
    """Return the chance, 0 to 1, of each of some sentences with these clues that it tells the fact.

    Logistic regression; shape (looks).
    """
    if not len(clues):
        return np.zeros(0)
    return np.asarray(1 / (1 + np.exp(-base - terms_of(clues) @ np.asarray(weights))))


@cache
def _fitted() -> tuple[float, tuple[float, ...], float]:
    fitted = json.loads((FOLDER / "second_look.json").read_text(encoding="utf-8"))
    return fitted["base"], tuple(fitted["weights"][term] for term in TERMS), fitted["enough"]
