"""Fit all that the reader has learnt, in the order in which one fit needs another: ``python -m tests.fit_reader``.

Takes some fifty minutes on one core; what was read and encoded for one fit serves the next.
"""

from __future__ import annotations

from listing_templates.honesty.network import fitted_network
from tests import fit_second_look, fit_states, fit_talk, fit_topics


def main() -> None:
    """Fit the states, the topics, the ways, and how much likeness is enough."""
    fit_states.main()
    fit_topics.main()
    fit_talk.main()
    fitted_network.cache_clear()
    fit_second_look.main()


if __name__ == "__main__":
    main()
