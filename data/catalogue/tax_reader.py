"""Tax rates and limits of a country from a TOML file: the user's folder first, then those that come along.

``[tax]`` has ``country`` (two letters, as the file is called), ``title``, ``kind`` (VAT or GST), ``currency`` and
perhaps ``looked_up_on``. Then ``[[rate]]`` with ``starts``, ``percent`` and ``source``; ``[[pool_limit]]`` and
``[[credit_limit]]`` with ``starts``, ``amount`` and ``source``. A row holds until the next one begins. Rates and
limits are law, not code: who needs another country, or a newer row, writes a file.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path

from data.catalogue.named_files import NamedFiles
from data.catalogue.positions import Positions
from data.catalogue.report import Report
from data.catalogue.rows import read_record, read_unnamed_rows, report_unknown_keys
from data.catalogue.toml_text import parse_toml, read_toml_text
from pricing.records.base import Record
from pricing.records.money import Currency
from pricing.records.tax import DatedAmount, DatedPercent, TaxKind, TaxTable

_LIMITS = ("pool_limit", "credit_limit")
_TABLES = ("tax", "rate", *_LIMITS)
_EXPECTED = "tax rates as TOML: [tax] and at least one [[rate]]"


class _Head(Record):
    country: str
    title: str
    kind: TaxKind
    currency: Currency
    looked_up_on: date | None = None


def tax_countries(folder: Path | None = None) -> tuple[str, ...]:
    """Return the countries there are rates of, sorted: those that come along and those in ``folder``."""
    return _FILES.names(folder)


def find_tax_table(country: str, folder: Path | None = None) -> TaxTable:
    """Return the rates of a country, from ``folder`` if it has them, else those that come along.

    Raises:
        NotFound: There are none; the message lists those there are.
        BadInput: The file has problems, or is of another country than it is called.
    """
    return _FILES.find(country.strip().lower(), folder, asked=country)


def tax_table_from_text(text: str, source: str) -> TaxTable:
    """Return the rates that a TOML text holds; ``source`` names it in messages.

    Raises:
        BadInput: With one Problem for each mistake.
    """
    document = parse_toml(text, source, _EXPECTED, Decimal)
    report = Report(source, Positions(text))
    report_unknown_keys(document, _TABLES, (), report)
    head = document.get("tax")
    if not isinstance(head, dict):
        report.add(("tax",), head, "a table [tax] with country, title, kind and currency")
    read = read_record(head, _Head, ("tax",), report) if isinstance(head, dict) else None
    rates = read_unnamed_rows(document.get("rate"), "rate", DatedPercent, report)
    limits = {name: read_unnamed_rows(document.get(name), name, DatedAmount, report) for name in _LIMITS}
    if not document.get("rate"):
        report.add(("rate",), None, "at least one [[rate]]")
    _report_order("rate", [row.starts for row in rates], report)
    for name, rows in limits.items():
        _report_order(name, [row.starts for row in rows], report)
    report.raise_if_any()
    assert read is not None  # noqa: S101 - otherwise something was reported
    return TaxTable(
        **dict(read), rates=rates, pool_limits=limits["pool_limit"], credit_limits=limits["credit_limit"]
    )


def _report_order(table: str, days: Sequence[date], report: Report) -> None:
    for place in range(1, len(days)):
        if days[place] <= days[place - 1]:
            expected = f"a day after {days[place - 1]}: rows go from the oldest to the newest"
            report.add((table, place, "starts"), days[place], expected)


def _read(path: Path) -> TaxTable:
    return tax_table_from_text(read_toml_text(path, _EXPECTED), path.name)


_FILES = NamedFiles(
    package="data.catalogue.tax_rates",
    none="no tax rates of",
    place="tax.country",
    name_of=lambda table: table.country,
    from_text=tax_table_from_text,
    read=_read,
)
