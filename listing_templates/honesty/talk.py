"""Whether a sentence talks round a fault, and in which way, by likeness in meaning to example sentences.

The phrases of a way say little by themselves: "should" hedges, and it also gives advice. A network tells them apart by
the numbers of the sentence (``meaning.py``), by what the rules take it to assert, and by the phrases; it also knows
ways that no phrase tells. ``tests/fit_talk.py`` fits it, on example sentences of all four languages.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from listing_templates.honesty.meaning import vectors_of
from listing_templates.honesty.network import fitted_network

PLAIN = "plain"  # a sentence that talks round nothing
SURE = 0.6  # chance of one way from which it counts without a phrase
SURE_OF_THE_SALE = 0.8  # the same for ways that are about no thing of the unit, so that no record can bear them out
SURE_OF_SOME = 0.8  # chance of any way from which the likeliest counts without a phrase
SURE_OF_A_PIECE = 0.7  # SURE for a piece of a sentence, which has less to go by
LIKELY = 0.1  # chance of any way from which a phrase of one is taken as such
CONCEIVABLE = 0.015  # the same for phrases that hardly ever stand in honest sentences


def marks_of(phrases: Collection[str], signals: Collection[str]) -> frozenset[str]:
    """Return the marks that are set on a sentence.

    Args:
        phrases: The ways whose phrases stand in it, with "~" before those that it takes back.
        signals: What the rules take it to assert.
    """
    return frozenset({*(f"?{way}" for way in phrases), *(f"!{signal}" for signal in signals)})


def ways_of(sentences: Sequence[str], marks: Sequence[Collection[str]]) -> tuple[Mapping[str, float], ...]:
    """Return for each sentence, as written, the chance of each way, 0 to 1, and of ``PLAIN``, together 1."""
    return fitted_network("ways").named_chances(vectors_of(sentences), marks)
