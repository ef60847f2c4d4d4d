"""What a sentence says of a thing: broken, taken out, not tried, foreign, marked, or nothing bad.

A multinomial logistic regression, fitted on example sentences: on the words, pairs of words and stretches of letters
of a sentence and on what the rules take it to assert. ``tests/fit_states.py`` fits it; the weights stand in
``examples/<tag>.json``.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cache
from math import sqrt

from listing_templates.honesty.features import written_clues
from listing_templates.honesty.linear_fit import LinearFit
from listing_templates.honesty.told_as import FOLDER, STATES


def clues_of(sentence: str, signals: Collection[str]) -> tuple[str, ...]:
    """Return what a state is told by: what is written, each clue once, and each signal."""
    return (*written_clues(sentence), *(f"!{signal}" for signal in sorted(signals)))


@dataclass(frozen=True)
class States:
    """The fit of a language."""

    fit: LinearFit

    def of(self, sentence: str, signals: Collection[str]) -> Mapping[str, float]:
        """Return the chance of each state that a sentence tells it, 0 to 1, together 1.

        Args:
            sentence: As written.
            signals: What the rules take it to assert.
        """
        clues = clues_of(sentence, signals)
        return self.fit.chances((clues, 1 / sqrt(len(clues) or 1)))


def states_from(base: Collection[float], weights: Mapping[str, Collection[float]]) -> States:
    """Return the states by a fit: base and weights hold one number for each of ``STATES``."""
    return States(LinearFit(STATES, tuple(base), {clue: tuple(each) for clue, each in weights.items()}))


@cache
def fitted_states(tag: str) -> States:
    """Return the fit of a language; without one, all states are equally likely."""
    source = FOLDER / f"{tag}.json"
    if not source.is_file():
        return states_from([0.0] * len(STATES), {})
    fitted = json.loads(source.read_text(encoding="utf-8"))
    return states_from(fitted["base"], fitted["weights"])
