"""A listing: sentences that each name the facts they rest on."""

from __future__ import annotations

from datetime import date
from typing import Literal, get_args

from pricing.records.base import Record
from pricing.records.money import Money

Format = Literal["text", "markdown", "html", "json-ld"]
FORMATS: tuple[Format, ...] = get_args(Format)
Condition = Literal["damaged", "used", "refurbished"]
Section = Literal[
    "title", "first", "summary", "look", "works", "faults", "untested", "parts", "locks", "included", "buyers", "price",
    "terms",
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
        format: text, markdown, html or json-ld.
        on: The day it was written for.
        title: Its title.
        sentences: In reading order.
        body: The rendered text.
        price: What is asked, as the listing says it; None: no price in it.
        condition: The unit's state in the words of trade on the net; never "new".
        left_off: Sentences that a channel's limit left no room for, whole or in part; never a disclosure.
        channel: Name of the channel whose limits it keeps; None: written for no one channel.
        photos: SHA-256 of each photo that the body shows or names.
        images: Addresses at which photos of the unit lie; empty where the shop has stated none.
    """

    unit_number: str | None
    language: str
    format: Format
    on: date | None
    title: str
    sentences: tuple[Sentence, ...]
    body: str
    price: Money | None = None
    condition: Condition = "used"
    left_off: tuple[Sentence, ...] = ()
    channel: str | None = None
    photos: tuple[str, ...] = ()
    images: tuple[str, ...] = ()
