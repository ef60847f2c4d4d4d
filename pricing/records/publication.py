"""What was published: the text, the facts it rests on, who confirmed it, and what the buyer has to accept."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from pydantic import Field

from pricing.records.base import Record
from pricing.records.listing import Listing
from pricing.records.unit import Unit

Digest = Annotated[str, Field(pattern="^[0-9a-f]{64}$")]
Person = Annotated[str, Field(min_length=1, max_length=80, pattern=r"\S")]


class KeptFact(Record):
    """A fact as it was at one time.

    Attributes:
        key: Its key ("function:camera_wide").
        says: The fact in a line, for the bench.
        digest: SHA-256 of all that it states, without its label: a class that calls it otherwise changes no fact.
    """

    key: str
    says: str
    digest: Digest


class FactChange(Record):
    """A fact that is not as it was; ``before`` or ``now`` is None where there was or is none."""

    key: str
    before: str | None
    now: str | None


def changed_facts(before: Sequence[KeptFact], now: Sequence[KeptFact]) -> tuple[FactChange, ...]:
    """Return the facts that differ, those of before in their order, then the new ones."""
    old, new = ({fact.key: fact for fact in facts} for facts in (before, now))
    return tuple(
        FactChange(key=key, before=_says(old.get(key)), now=_says(new.get(key)))
        for key in dict.fromkeys((*old, *new))
        if _digest(old.get(key)) != _digest(new.get(key))
    )


class Deviation(Record):
    """One line that the buyer accepts on its own: what differs from what a buyer may expect.

    Attributes:
        number: Its place, from 1.
        text: The disclosure, word for word as our listing says it.
        rule: The rule of consumer law that it serves; "" where the country's rules are not known.
        facts: Keys of the facts that it rests on.
    """

    number: Annotated[int, Field(ge=1)]
    text: str
    rule: str
    facts: tuple[str, ...]


class Publication(Record):
    """A listing as it was published.

    Attributes:
        listing: The listing from that day's facts; its body is the text that was published, the seller's edits in it.
        text_digest: SHA-256 of the published text in UTF-8, as any program for it computes it.
        unit, unit_version: The unit then.
        facts: Its facts then.
        deviations: The lines that the buyer accepts one by one.
        photos: SHA-256 of each photo, in the order in which they are shown.
        channel: Where it stands; None: not said.
        confirmed_by: Who confirmed that this text is true.
        program: Version of the program that checked it.
    """

    listing: Listing
    text_digest: Digest
    unit: Unit
    unit_version: Annotated[int, Field(ge=1)]
    facts: tuple[KeptFact, ...]
    deviations: tuple[Deviation, ...]
    photos: tuple[Digest, ...] = ()
    channel: str | None = None
    confirmed_by: Person
    program: str


def _says(fact: KeptFact | None) -> str | None:
    return None if fact is None else fact.says


def _digest(fact: KeptFact | None) -> str | None:
    return None if fact is None else fact.digest
