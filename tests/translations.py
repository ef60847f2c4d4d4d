"""Refreshes the gettext catalogues of all languages: ``python -m tests.translations``, then translate what is empty.

The templates (``sentences.pot``, ``classes.pot``) and each language's ``.po`` get the texts that there are now, in
their order. Translations stay. Where an English sentence changed under its identifier, its old translation stays
marked fuzzy: to be looked at. What is no longer used stays at the end of the file, as a comment.
``python -m tests.translations fr_CH`` begins another language.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Iterable
from pathlib import Path

from babel import Locale
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po, write_po

from data.catalogue.reader import class_names, find_class
from listing_templates.catalogues import CLASSES, SENTENCES, Pattern, translated_tags
from listing_templates.class_texts import texts_of_class
from listing_templates.language import TABLES, common_texts, english_patterns

FOLDER = Path(__file__).parent.parent / "listing_templates" / "languages"
MOST_NOTES = 2
SPACED = ":"  # French sets a space before it
# Days and names would change with every run, and say nothing that the history of the file does not.
UNSTABLE = (
    "Project-Id-Version", "Report-Msgid-Bugs-To", "POT-Creation-Date", "PO-Revision-Date", "Last-Translator",
    "Language-Team", "Generated-By",
)  # fmt: skip


def sentence_template(locale: str | None = None) -> Catalog:
    """Return a catalogue of all English patterns that are not the same in every language, by identifier."""
    made = Catalog(locale=locale, fuzzy=False, header_comment="# Sentences of listings.")
    for table, patterns in english_patterns().items():
        for name, pattern in patterns.items():
            if any(char.isalpha() or char in SPACED for char in _without_fields(pattern)):
                one_or_more = pattern.other if pattern.one is None else (pattern.one, pattern.other)
                made.add(one_or_more, context=f"{TABLES[table]}.{name}")
    return made


def class_template(locale: str | None = None) -> Catalog:
    """Return a catalogue of all texts of the packaged device classes, with where each stands."""
    made = Catalog(locale=locale, fuzzy=False, header_comment="# Texts of the packaged device classes.")
    places: dict[str, list[str]] = {}
    for name in class_names():
        for text, where in texts_of_class(find_class(name)):
            places.setdefault(text, []).append(f"{name}: {where}")
    for text in common_texts():
        places.setdefault(text, []).append("often written by hand: accessories, ways to erase or to check")
    for text, notes in places.items():
        if any(char.isalpha() for char in text):
            made.add(text, auto_comments=notes[:MOST_NOTES])
    return made


def refresh(path: Path, template: Catalog, locale: str) -> None:
    """Bring one catalogue up to date with its template; translations stay."""
    if path.is_file():
        with path.open("rb") as opened:
            found = read_po(opened, locale=locale, abort_invalid=True)
    else:
        found = Catalog(locale=locale, header_comment=template.header_comment)
        found.mime_headers = [("Plural-Forms", f"nplurals=2; plural={_plural_of(locale)};")]
    old = {message.context: message for message in found if message.context}
    found.update(template, no_fuzzy_matching=True)
    found.fuzzy = False
    for message in found:
        before = old.get(message.context)
        if message.id and before is not None and not _has_text(message.string) and _has_text(before.string):
            if isinstance(before.string, str) != isinstance(message.id, str):
                continue
            message.string = before.string
            message.flags.add("fuzzy")
    for key, message in list(found.obsolete.items()):
        if not _has_text(message.string):
            del found.obsolete[key]
    write(path, found)


def write(path: Path, catalogue: Catalog) -> None:
    """Write a catalogue without what would change by itself."""
    buffer = io.BytesIO()
    write_po(buffer, catalogue, width=110, omit_header=False, include_previous=False)
    lines = buffer.getvalue().decode("utf-8").splitlines(keepends=True)
    path.parent.mkdir(exist_ok=True)
    path.write_text("".join(line for line in lines if not line[1:].startswith(UNSTABLE)), encoding="utf-8")


def main(tags: Iterable[str]) -> None:
    """Refresh templates and catalogues; ``tags`` are languages to begin."""
    for name, template in ((SENTENCES, sentence_template), (CLASSES, class_template)):
        write(FOLDER / f"{name}t", template())
        for tag in sorted({*translated_tags(), *tags}):
            refresh(FOLDER / tag / name, template(tag), tag)


def _plural_of(locale: str) -> str:
    """Return which numbers take the second form: our sentences have two, whatever else CLDR counts ("many")."""
    return "(n > 1)" if Locale.parse(locale).plural_form(0) == "one" else "(n != 1)"


def _without_fields(pattern: Pattern) -> str:
    outside, depth = [], 0
    for char in pattern.other:
        depth += (char == "{") - (char == "}")
        outside.append(char if depth == 0 else " ")
    return "".join(outside)


def _has_text(string: object) -> bool:
    return all(string) if isinstance(string, (list, tuple)) else bool(string)


if __name__ == "__main__":
    main(sys.argv[1:])
