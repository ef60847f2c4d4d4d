"""What a sentence says of a thing: broken, taken out, not tried, foreign, marked, or nothing bad.

By a network fitted on example sentences of all four languages: on their numbers (``meaning.py``) and on what the rules
take them to assert. ``tests/fit_states.py`` fits it.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from listing_templates.honesty.network import Network, fitted_network


def states_of(
    sentences: Sequence[str], signals: Sequence[Collection[str]], network: Network | None = None
) -> tuple[Mapping[str, float], ...]:
    """Return for each sentence the chance of each of ``STATES`` that it tells it, 0 to 1, together 1.

    Args:
        sentences: As written.
        signals: What the rules take each to assert.
        network: Another fit than the one that is kept.
    """
    return (network or fitted_network("states")).named_chances(sentences, signals)
