"""Translations of a language: gettext catalogues, read through Babel and kept in memory.

``languages/<tag>/sentences.po`` holds our own patterns: msgctxt is the identifier ("sentence.function.dead"), msgid
the English pattern. ``languages/<tag>/classes.po`` holds the texts of the packaged device classes: msgid is the
English text, without context. An entry that is empty or marked fuzzy counts as not translated; English stands in.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Literal

from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import read_po

from pricing.records.base import Record

FOLDER = files("listing_templates.languages")
SENTENCES = "sentences.po"
CLASSES = "classes.po"

CatalogueName = Literal["sentences.po", "classes.po"]


class Pattern(Record):
    """A sentence with ``{fields}``; ``one`` is used where the language counts one, ``other`` else."""

    other: str
    one: str | None = None


@cache
def translated_tags() -> tuple[str, ...]:
    """Return the tags of the languages that have a catalogue of sentences, sorted."""
    return tuple(sorted(entry.name for entry in FOLDER.iterdir() if (entry / SENTENCES).is_file()))


@cache
def read_catalogue(tag: str, name: CatalogueName) -> Catalog:
    """Return a language's catalogue as Babel reads it."""
    place: Traversable = FOLDER / tag / name
    with place.open("rb") as opened:
        return read_po(opened, locale=tag, abort_invalid=True)


def translated(tag: str, context: str, english: Pattern) -> Pattern:
    """Return the pattern in this language; the English one where the catalogue has none for it."""
    message = read_catalogue(tag, "sentences.po").get(english.one or english.other, context)
    texts = texts_of(message)
    if not texts:
        return english
    return Pattern(one=texts[0] if english.one is not None else None, other=texts[-1])


@cache
def class_catalogue(tag: str) -> Mapping[str, str]:
    """Return English text -> text in this language, for the texts of the packaged classes; empty for English."""
    if tag not in translated_tags():
        return {}
    found = {str(message.id): texts_of(message) for message in read_catalogue(tag, "classes.po") if message.id}
    return {text: own[0] for text, own in found.items() if own}


def texts_of(message: Message | None) -> tuple[str, ...]:
    """Return the translated forms of a message, singular first; empty when one is missing or it is fuzzy."""
    if message is None or message.fuzzy:
        return ()
    forms = message.string if isinstance(message.string, (list, tuple)) else (message.string,)
    return tuple(str(form) for form in forms) if all(forms) else ()
