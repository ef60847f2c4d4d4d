"""Whether a sentence talks round a fault, and in which way, by likeness to example sentences.

The phrases of a way say little by themselves: "should" hedges, and it also gives advice. A multinomial logistic
regression tells them apart by the other words of the sentence, by what the rules take it to assert, and by the
phrases; it also knows ways that no phrase tells. ``tests/fit_talk.py`` fits it; the weights stand in
``examples/<tag>_ways.json``.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cache
from math import sqrt

from listing_templates.honesty.features import written_clues
from listing_templates.honesty.linear_fit import LinearFit
from listing_templates.honesty.told_as import FOLDER

PLAIN = "plain"  # a sentence that talks round nothing
LETTERS_COUNT = 8.0  # what all words and letters of a sentence count together, one phrase counting 1
SIGNAL_COUNTS = 0.5
SURE = 0.3  # chance of one way from which it counts without a phrase
LIKELY = 0.03  # chance of any way from which a phrase of one is taken as such


@dataclass(frozen=True)
class Talk:
    """The fit of a language: the ways of its examples, and ``PLAIN``."""

    fit: LinearFit

    def of(self, sentence: str, phrases: Collection[str], signals: Collection[str]) -> Mapping[str, float]:
        """Return the chance of each way, 0 to 1, and of ``PLAIN``, together 1.

        Args:
            sentence: As written.
            phrases: The ways whose phrases stand in it, with "~" before those that it takes back.
            signals: What the rules take it to assert.
        """
        written = written_clues(sentence)
        return self.fit.chances(
            (written, LETTERS_COUNT / sqrt(len(written) or 1)),
            ((f"?{way}" for way in phrases), 1.0),
            ((f"!{signal}" for signal in signals), SIGNAL_COUNTS),
        )


@cache
def fitted_talk(tag: str) -> Talk | None:
    """Return the fit of a language; None where there is none."""
    source = FOLDER / f"{tag}_ways.json"
    if not source.is_file():
        return None
    fitted = json.loads(source.read_text(encoding="utf-8"))
    return talk_from(fitted["base"], fitted["weights"])


def talk_from(base: Mapping[str, float], weights: Mapping[str, Mapping[str, float]]) -> Talk:
    """Return the talk by a fit: base and weights by way, those that are nought left out of the weights."""
    labels = tuple(base)
    rows = {clue: tuple(each.get(label, 0.0) for label in labels) for clue, each in weights.items()}
    return Talk(LinearFit(labels, tuple(base.values()), rows))
