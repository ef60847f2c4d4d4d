"""A listing: sentences that each name the facts they rest on."""

from __future__ import annotations

from datetime import date
from typing import Literal

from pricing.records.base import Record

Format = Literal["text", "markdown", "html"]
Section = Literal[
    "title", "first", "summary", "look", "works", "faults", "untested", "parts", "locks", "included", "price"
]  # fmt: skip


class Sentence(Record):
    """One sentence of a listing.

    Attributes:
        id: Stable identifier of the sentence ("function.dead").
        section: Where it stands.
        text: The sentence as read.
        facts: Keys of the facts it rests on ("function:camera_wide"); never empty.
        disclosure: True when it states a defect, something untested, a part, an opening or a lock.
        hidden: True when the buyer could not see this from outside.
    """

    id: str
    section: Section
    text: str
    facts: tuple[str, ...]
    disclosure: bool = False
    hidden: bool = False


class Listing(Record):
    """A listing in one language and format.

    Attributes:
        unit_number: The unit's number, if it has one.
        language: Tag such as "en".
        format: text, markdown or html.
        on: The day it was written for.
        title: Its title.
        sentences: In reading order.
        body: The rendered text.
    """

    unit_number: str | None
    language: str
    format: Format
    on: date | None
    title: str
    sentences: tuple[Sentence, ...]
    body: str
