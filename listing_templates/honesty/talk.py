"""Whether a sentence talks round a fault, and in which way, by likeness in meaning to example sentences.

The phrases of a way say little by themselves: "should" hedges, and it also gives advice. A network tells them apart by
the numbers of the sentence (``meaning.py``), by what the rules take it to assert, and by the phrases; it also knows
ways that no phrase tells. ``tests/fit_talk.py`` fits it, on example sentences of all four languages.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from listing_templates.honesty.network import Network, fitted_network

PLAIN = "plain"  # a sentence that talks round nothing
SURE = 0.4  # chance of one way from which it counts without a phrase
SURE_OF_THE_SALE = 0.6  # the same for ways that are about no thing of the unit, so that no record can bear them out
SURE_OF_SOME = 0.7  # chance of any way from which the likeliest counts without a phrase
SURE_OF_SOME_SALE = 0.7  # the same for ways that are about no thing of the unit
SURE_OF_A_PIECE = 0.5  # SURE for a piece of a sentence, which has less to go by
LIKELY = 0.3  # chance of any way from which a phrase of one is taken as such
CONCEIVABLE = 0.05  # the same for phrases that hardly ever stand in honest sentences
SHORT = 8  # words of a sentence that is hardly more than a phrase
LIKELY_IF_SHORT = 0.2  # the same two for such a sentence
CONCEIVABLE_IF_SHORT = 0.02


def marks_of(phrases: Collection[str], signals: Collection[str]) -> frozenset[str]:
    """Return the marks that are set on a sentence.

    Args:
        phrases: The ways whose phrases stand in it, with "~" before those that it takes back.
        signals: What the rules take it to assert.
    """
    return frozenset({*(f"?{way}" for way in phrases), *(f"!{signal}" for signal in signals)})


def ways_of(
    sentences: Sequence[str], marks: Sequence[Collection[str]], network: Network | None = None
) -> tuple[Mapping[str, float], ...]:
    """Return for each sentence, as written, the chance of each way, 0 to 1, and of ``PLAIN``, together 1.

    ``network``: another fit than the one that is kept.
    """
    return (network or fitted_network("ways")).named_chances(sentences, marks)
