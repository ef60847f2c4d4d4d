"""What a sentence says of a thing: broken, taken out, not tried, foreign, marked, or nothing bad.

A multinomial logistic regression, fitted on example sentences: on the words and stretches of letters of a sentence and
on what the rules take it to assert. ``tests/fit_states.py`` fits it; the weights stand in ``examples/<tag>.json``.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from math import exp, sqrt

import numpy as np
from numpy.typing import NDArray

from listing_templates.honesty.features import features_of
from listing_templates.honesty.told_as import FOLDER, STATES


def clues_of(sentence: str, signals: Collection[str]) -> tuple[str, ...]:
    """Return what a state is told by: each feature of the sentence once, and each signal."""
    return (*dict.fromkeys(features_of(sentence)), *(f"!{signal}" for signal in sorted(signals)))


@dataclass(frozen=True)
class States:
    """The fit: of each state where it begins, and what each clue adds to it."""

    base: tuple[float, ...]
    weights: Mapping[str, tuple[float, ...]]

    def of(self, sentence: str, signals: Collection[str]) -> Mapping[str, float]:
        """Return the chance of each state that a sentence tells it, 0 to 1, together 1.

        Args:
            sentence: As written.
            signals: What the rules take it to assert.
        """
        clues = clues_of(sentence, signals)
        found = [self._rows[clue] for clue in clues if clue in self._rows]
        sums = (self.base + self._table[found].sum(axis=0) / sqrt(len(clues) or 1)).tolist()
        raised = [exp(one - max(sums)) for one in sums]
        return {state: one / sum(raised) for state, one in zip(STATES, raised, strict=True)}


    @cached_property
    def _rows(self) -> Mapping[str, int]:
        return {clue: row for row, clue in enumerate(self.weights)}

    @cached_property
    def _table(self) -> NDArray[np.float64]:
        return np.array(list(self.weights.values()), dtype=float).reshape(len(self.weights), len(self.base))


@cache
def fitted_states(tag: str) -> States:
    """Return the fit of a language; without one, all states are equally likely."""
    source = FOLDER / f"{tag}.json"
    if not source.is_file():
        return States(tuple(0.0 for _ in STATES), {})
    fitted = json.loads(source.read_text(encoding="utf-8"))
    return States(tuple(fitted["base"]), {clue: tuple(weights) for clue, weights in fitted["weights"].items()})
