"""Texts that a country's law asks a shop to show, from a TOML file: the user's folder first, then the packaged ones.

``[country]`` has ``country`` (two letters, as the file is called), ``title`` and perhaps ``looked_up_on``. Then
``[[text]]`` with ``name``, ``starts``, perhaps ``ends``, ``sale`` (any or distance), ``required`` (said to the shop),
``source``, and ``say.en``, ``say.de`` and so on: the sentence for listings. Without ``say`` no sentence can serve it,
and the shop is told to act. Law is data: who needs another country, or a newer text, writes a file.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

from data.catalogue.named_files import NamedFiles
from data.catalogue.positions import Positions
from data.catalogue.report import Report
from data.catalogue.rows import read_record, read_rows, report_unknown_keys
from data.catalogue.toml_text import parse_toml, read_toml_text
from pricing.records.base import Record
from pricing.records.shop_terms import CountryText, CountryTexts

_TABLES = ("country", "text")
_EXPECTED = "texts of a country as TOML: [country] and any number of [[text]]"


class _Head(Record):
    country: str
    title: str
    looked_up_on: date | None = None


def text_countries(folder: Path | None = None) -> tuple[str, ...]:
    """Return the countries there are texts of, sorted: those that come along and those in ``folder``."""
    return _FILES.names(folder)


def find_country_texts(country: str, folder: Path | None = None) -> CountryTexts:
    """Return the texts of a country, from ``folder`` if it has them, else those that come along.

    Raises:
        NotFound: There are none; the message lists the countries there are.
        BadInput: The file has problems, or is of another country than it is called.
    """
    return _FILES.find(country.strip().lower(), folder, asked=country)


def country_texts_from_text(text: str, source: str) -> CountryTexts:
    """Return the texts that a TOML file holds; ``source`` names it in messages.

    Raises:
        BadInput: With one Problem for each mistake.
    """
    document = parse_toml(text, source, _EXPECTED)
    report = Report(source, Positions(text))
    report_unknown_keys(document, _TABLES, (), report)
    head = document.get("country")
    if not isinstance(head, dict):
        report.add(("country",), head, "a table [country] with country and title")
    read = read_record(head, _Head, ("country",), report) if isinstance(head, dict) else None
    rows = read_rows(document.get("text", []), "text", CountryText, (), report)
    report.raise_if_any()
    assert read is not None  # noqa: S101 - otherwise something was reported
    return CountryTexts(**dict(read), texts=rows.records)


def _read(path: Path) -> CountryTexts:
    return country_texts_from_text(read_toml_text(path, _EXPECTED), path.name)


_FILES = NamedFiles(
    package="data.catalogue.country_texts",
    none="no texts of country",
    place="country.country",
    name_of=lambda texts: texts.country,
    from_text=country_texts_from_text,
    read=_read,
)
