"""What a rule makes of a phrase: the kind of finding and the fact behind it, or nothing."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from listing_templates.fact import Fact
from listing_templates.honesty.said import Known, Said
from pricing.records.finding import FindingKind


class Verdict(NamedTuple):
    """A finding in the making: its kind, the key of its fact ("" for none), and whether it stops a listing."""

    kind: FindingKind
    fact: str
    hard: bool = False


class Told(NamedTuple):
    """What a rule sees: a sentence, the record, and a phrase.

    ``place`` is where the phrase starts in the ``normal`` sentence, ``near`` what is asserted right beside it. It is
    ``sure`` where the sentence takes the way without any phrase of it.
    """

    said: Said
    known: Known
    place: int
    near: frozenset[str] = frozenset()
    sure: bool = False


Rule = Callable[[Told], Verdict | None]


def unproven(fact: Fact) -> Verdict:
    """Return the verdict on a claim that a thing works or is free: no fact if nobody looked, else against it."""
    against = fact.state in ("dead", "impaired", "removed", "locked", "third-party")
    return Verdict("against fact" if against else "no fact", fact.key, against or fact.noun == "lock")


def always(kind: FindingKind, fact: str = "", *, hard: bool = False) -> Rule:
    """Return a rule for phrases that no record can bear out."""

    def rule(told: Told) -> Verdict:
        """Judge the phrase, whatever the record holds."""
        return Verdict(kind, fact if fact in told.known.facts else "", hard)

    return rule
