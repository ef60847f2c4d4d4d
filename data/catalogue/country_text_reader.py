"""Texts that a country's law asks a shop to show, from a TOML file: the user's folder first, then the packaged ones.

``[country]`` has ``country`` (two letters, as the file is called), ``title`` and perhaps ``looked_up_on``. Then
``[[text]]`` with ``name``, ``starts``, perhaps ``ends``, ``sale`` (any or distance), ``required`` (said to the shop),
``source``, and ``say.en``, ``say.de`` and so on: the sentence for listings. Without ``say`` no sentence can serve it,
and the shop is told to act. Law is data: who needs another country, or a newer text, writes a file.
"""

from __future__ import annotations

from datetime import date
from functools import cache
from importlib.resources import files
from pathlib import Path

from data.catalogue.positions import Positions
from data.catalogue.report import Report, bad_file
from data.catalogue.rows import read_record, read_rows, report_unknown_keys
from data.catalogue.toml_text import parse_toml, read_toml_text
from pricing.errors import NotFound, Problem, shortened
from pricing.records.base import Record
from pricing.records.shop_terms import CountryText, CountryTexts

_TABLES = ("country", "text")
_EXPECTED = "texts of a country as TOML: [country] and any number of [[text]]"
_PACKAGED = files("data.catalogue.country_texts")


class _Head(Record):
    country: str
    title: str
    looked_up_on: date | None = None


def text_countries(folder: Path | None = None) -> tuple[str, ...]:
    """Return the countries there are texts of, sorted: those that come along and those in ``folder``."""
    own = [] if folder is None or not folder.is_dir() else [path.stem for path in folder.glob("*.toml")]
    return tuple(sorted({*own, *_packaged_names()}))


def find_country_texts(country: str, folder: Path | None = None) -> CountryTexts:
    """Return the texts of a country, from ``folder`` if it has them, else those that come along.

    Raises:
        NotFound: There are none; the message lists the countries there are.
        BadInput: The file has problems, or is of another country than it is called.
    """
    code = country.strip().lower()
    names = text_countries(folder)
    if code not in names:
        raise NotFound(f"no texts of country {shortened(country)}; there are: {', '.join(names)}")
    own = None if folder is None else folder / f"{code}.toml"
    if own is None or not own.is_file():
        return _packaged_texts(code)
    texts = country_texts_from_text(read_toml_text(own, _EXPECTED), own.name)
    if texts.country != code:
        expected = f"{shortened(code)}, as the file is called"
        raise bad_file(own.name, [Problem(own.name, None, "country.country", shortened(texts.country), expected)])
    return texts


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


@cache
def _packaged_names() -> tuple[str, ...]:
    names = [entry.name for entry in _PACKAGED.iterdir()]
    return tuple(sorted(name.removesuffix(".toml") for name in names if name.endswith(".toml")))


@cache
def _packaged_texts(country: str) -> CountryTexts:
    source = f"{country}.toml"
    return country_texts_from_text((_PACKAGED / source).read_text("utf-8"), source)
