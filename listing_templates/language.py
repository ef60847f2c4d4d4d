"""A language as data: its sentence patterns, phrases, headings and kinds of mark.

English is the source, in ``languages/en.toml``; the others are translations of it (``listing_templates.catalogues``).
"""

from __future__ import annotations

import tomllib
from functools import cache
from typing import Any

from listing_templates.catalogues import FOLDER, Pattern, translated, translated_tags
from pricing.errors import NotFound
from pricing.records.base import Record
from pricing.records.listing import Section

ENGLISH = "en"
TABLES = {"sentences": "sentence", "phrases": "phrase", "headings": "heading", "kinds": "kind"}

__all__ = ["ENGLISH", "Language", "Pattern", "language_tags", "read_language"]


class Language(Record):
    """Everything that depends on the language.

    Attributes:
        tag: Such as "en", written into the page.
        locale: Whose numbers, days, units and money are used (CLDR).
        sentences: Identifier -> pattern.
        phrases: Pieces of sentences.
        headings: Section -> heading.
        kinds: Kind of mark -> pattern with ``{count}``.
    """

    tag: str
    locale: str
    sentences: dict[str, Pattern]
    phrases: dict[str, Pattern]
    headings: dict[Section, str]
    kinds: dict[str, Pattern]


@cache
def read_language(tag: str) -> Language:
    """Return the language of this tag.

    Raises:
        NotFound: There is no such language; the message names those there are.
    """
    if tag not in language_tags():
        raise NotFound(f'no language "{tag[:20]}"; there are {", ".join(language_tags())}')
    tables = _english_tables()
    read: dict[str, Any] = {"tag": tag, "locale": tables["locale"], **english_patterns()}
    if tag != ENGLISH:
        for table, prefix in TABLES.items():
            patterns = read[table]
            read[table] = {key: translated(tag, f"{prefix}.{key}", pattern) for key, pattern in patterns.items()}
        read["locale"] = tag
    read["headings"] = {section: pattern.other for section, pattern in read["headings"].items()}
    return Language.model_validate(read)


def english_patterns() -> dict[str, dict[str, Pattern]]:
    """Return the English patterns: table ("sentences", "phrases", "headings", "kinds") -> identifier -> pattern."""
    return {
        table: {
            key: Pattern(other=value) if isinstance(value, str) else Pattern.model_validate(value)
            for key, value in _english_tables()[table].items()
        }
        for table in TABLES
    }


@cache
def language_tags() -> tuple[str, ...]:
    """Return the tags of all languages there are: English, then those that have a catalogue."""
    return (ENGLISH, *translated_tags())


def common_texts() -> tuple[str, ...]:
    """Return English words that benches often write into free fields ("factory reset", "charger")."""
    return tuple(_english_tables()["common"]["texts"])


@cache
def _english_tables() -> dict[str, Any]:
    return tomllib.loads((FOLDER / f"{ENGLISH}.toml").read_text(encoding="utf-8"))
