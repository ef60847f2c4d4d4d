"""All published listings as one file that other programs read: CSV for sheets, NDJSON for programs.

Both have the fields of ``COLUMNS`` in this order. In CSV disclosures and addresses of images are one to a line inside
their cell, and a cell that a spreadsheet would take for a formula has an apostrophe before it. NDJSON holds every text
as it is, all signs beyond ASCII as escapes, so that nothing in a text can end a line.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Iterable, Iterator
from io import StringIO
from typing import Any

from pricing.records.listing import Listing

_FIELDS: dict[str, Callable[[Listing], Any]] = {
    "unit_number": lambda listing: listing.unit_number,
    "language": lambda listing: listing.language,
    "format": lambda listing: listing.format,
    "written_for": lambda listing: None if listing.on is None else listing.on.isoformat(),
    "title": lambda listing: listing.title,
    "condition": lambda listing: listing.condition,
    "price": lambda listing: None if listing.price is None else f"{listing.price.to_minor_unit().amount:f}",
    "currency": lambda listing: None if listing.price is None else listing.price.currency,
    "disclosures": lambda listing: [sentence.text for sentence in listing.sentences if sentence.disclosure],
    "images": lambda listing: list(listing.images),
    "body": lambda listing: listing.body,
}
COLUMNS: tuple[str, ...] = tuple(_FIELDS)

# What a spreadsheet reads as the start of a formula, also in the wide forms that some take for the same signs.
_FORMULA_STARTS = "=+-@\t\r\n＝＋－＠"


def csv_feed(listings: Iterable[Listing]) -> Iterator[str]:
    """Yield the feed as CSV, its header first, one listing at a time; lines end as RFC 4180 says."""
    yield _csv_line(COLUMNS)
    for listing in listings:
        yield _csv_line([guarded(_cell(value)) for value in feed_row(listing).values()])


def ndjson_feed(listings: Iterable[Listing]) -> Iterator[str]:
    """Yield the feed as NDJSON: one object to a line; what is not stated is null."""
    for listing in listings:
        yield json.dumps(feed_row(listing)) + "\n"


def feed_row(listing: Listing) -> dict[str, Any]:
    """Return the fields of one listing by column; amounts as text, in the listing's currency; None: not stated."""
    return {name: read(listing) for name, read in _FIELDS.items()}


def guarded(cell: str) -> str:
    """Return a cell that no spreadsheet takes for a formula."""
    return "'" + cell if cell.startswith(tuple(_FORMULA_STARTS)) else cell


def _cell(value: str | list[str] | None) -> str:
    if value is None:
        return ""
    text = value if isinstance(value, str) else "\n".join(value)
    return text.encode("utf-8", "replace").decode("utf-8")


def _csv_line(cells: Iterable[str]) -> str:
    line = StringIO(newline="")
    csv.writer(line).writerow(cells)
    return line.getvalue()
