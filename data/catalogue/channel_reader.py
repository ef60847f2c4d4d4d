"""Channels from TOML files: the user's folder is looked at first, then those that come along.

``[channel]`` has ``name`` (as the file is called), ``title``, ``currency``, and perhaps ``title_limit``,
``body_limit``, ``formats`` (of text, markdown, html, json-ld; all when it does not say), ``deviations`` (checkout,
message or sheet: where a buyer accepts each deviation; message when it does not say) and ``source``. Then
``[[fee]]`` (name, percent, fixed, at_least, at_most, of, tiers, tiers_by), ``[payment]`` with the same keys but no
name, ``[[postage]]`` (zone, cost, charged), ``[returns]`` (share_percent, cost, lost_percent) and ``[guarantee]``
(percent, fixed). The keys are the fields of the records in ``pricing.records.channel``. Amounts are in the
channel's currency and are read exactly as they are written.
"""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any, TypeVar

from data.catalogue.named_files import NamedFiles
from data.catalogue.positions import Positions
from data.catalogue.report import Report
from data.catalogue.rows import read_record, read_unnamed_rows, report_unknown_keys
from data.catalogue.toml_text import parse_toml, read_toml_text
from pricing.records.acceptance import DeviationWay
from pricing.records.base import Record
from pricing.records.channel import PAYMENT, POSTAGE, PRICE, Channel, Fee, Postage, Reserve, Returns, flaws_of
from pricing.records.listing import FORMATS, Format
from pricing.records.money import Currency

Kind = TypeVar("Kind", bound=Record)

_TABLES = ("channel", "fee", "payment", "postage", "returns", "guarantee")
_EXPECTED = "a channel as TOML: at least [channel] with name, title and currency"


class _Head(Record):
    name: str
    title: str
    currency: Currency
    title_limit: int | None = None
    body_limit: int | None = None
    formats: tuple[Format, ...] = FORMATS
    deviations: DeviationWay = "message"
    source: str = ""


def channel_names(folder: Path | None = None) -> tuple[str, ...]:
    """Return the names of the channels there are, sorted: those that come along and those in ``folder``."""
    return _FILES.names(folder)


def find_channel(name: str, folder: Path | None = None) -> Channel:
    """Return the channel of this name, from ``folder`` if it has one, else from those that come along.

    Raises:
        NotFound: There is none; the message lists those there are.
        BadInput: Its file has problems, or describes a channel of another name than the file's.
    """
    return _FILES.find(name, folder)


def read_channel(path: Path) -> Channel:
    """Return the channel that a TOML file describes.

    Raises:
        NotFound: There is no such file.
        BadInput: It cannot be read, or something in it is wrong; one Problem for each mistake.
    """
    return channel_from_text(read_toml_text(path, _EXPECTED), path.name)


def channel_from_text(text: str, source: str) -> Channel:
    """Return the channel that a TOML text describes; ``source`` names the text in messages.

    Raises:
        BadInput: With one Problem for each mistake.
    """
    document = parse_toml(text, source, _EXPECTED, Decimal)
    report = Report(source, Positions(text))
    report_unknown_keys(document, _TABLES, (), report)
    head = _read_table(document, "channel", _Head, report)
    fees = read_unnamed_rows(document.get("fee"), "fee", Fee, report)
    postage = read_unnamed_rows(document.get("postage"), "postage", Postage, report)
    payment = _read_payment(document, report)
    returns = _read_table(document, "returns", Returns, report)
    guarantee = _read_table(document, "guarantee", Reserve, report)
    report.raise_if_any()
    assert head is not None  # noqa: S101 - otherwise something was reported
    channel = read_record(
        {
            **dict(head),
            "fees": fees,
            "payment": payment,
            "postage": postage,
            "returns": returns or Returns(),
            "guarantee": guarantee or Reserve(),
        },
        Channel,
        ("channel",),
        report,
    )
    if channel is not None:
        for flaw in flaws_of(channel):
            report.add(flaw.path, flaw.found.strip('"'), flaw.expected)
    report.raise_if_any()
    assert channel is not None  # noqa: S101 - otherwise something was reported
    return channel


def _read_table(document: dict[str, Any], table: str, kind: type[Kind], report: Report) -> Kind | None:
    values = document.get(table)
    if isinstance(values, dict):
        return read_record(values, kind, (table,), report)
    if values is not None or kind is _Head:
        report.add((table,), values, f"a table [{table}]")
    return None


def _read_payment(document: dict[str, Any], report: Report) -> Fee | None:
    values = document.get("payment")
    if values is None:
        return None
    if not isinstance(values, dict) or "name" in values:
        report.add(("payment",), values, "a table [payment] without a name")
        return None
    return read_record({"of": (PRICE, POSTAGE), **values, "name": PAYMENT}, Fee, ("payment",), report)


_FILES = NamedFiles(
    package="data.catalogue.channels",
    none="no channel",
    place="channel.name",
    name_of=lambda channel: channel.name,
    from_text=channel_from_text,
    read=read_channel,
)
