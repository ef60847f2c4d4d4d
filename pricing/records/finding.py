"""What is wrong with a text when it is read against a unit's facts."""

from __future__ import annotations

from typing import Literal

from pricing.records.base import Record

FindingKind = Literal[
    "missing", "no fact", "against fact", "weakened", "guessed cause", "superlative", "better than grade",
    "rights denied", "pushed to buyer", "unreadable", "identity shown", "not stated", "photo missing",
]  # fmt: skip


class Finding(Record):
    """One finding.

    Attributes:
        kind: What is wrong.
        start, end: Place in the text that was read, in characters; both 0 when something is missing.
        fact: Key of the fact that it misses or contradicts ("function:camera_wide"), or "" for no fact.
        suggestion: A sentence that would be right.
        hard: True when the listing may not be published with it.
    """

    kind: FindingKind
    start: int
    end: int
    fact: str
    suggestion: str
    hard: bool = True
