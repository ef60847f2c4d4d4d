"""Sales from a CSV file: the columns of a sales file, checked cell by cell.

Only ``price`` is required. Each bad cell becomes a Problem and its row is left out of the table; what the file
does not state stays not stated.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from data.importing.condition_columns import NumberColumns, number_names, read_condition, read_flags
from data.importing.currencies import Conversion, conversion_to_base
from data.importing.days import read_days
from data.importing.findings import Findings
from data.importing.header import sorted_columns
from data.importing.rates import Rates
from data.importing.tables import read_table
from data.importing.text_table import TextTable
from pricing.errors import Problem
from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import BoolArray, ConditionTable, DayArray, FloatArray, SalesTable


@dataclass(frozen=True, eq=False)
class SalesReading:
    """What a sales file holds.

    Attributes:
        table: The good rows, in the file's order; prices in the base currency.
        problems: One for each bad cell, in the order of lines.
        notices: What the user should know of how the file was read.
        rows_read: Rows in the file, bad ones included.
        device_class: The class, with a plain function, surface, part or lock for each column of a sort that
            the class does not describe at all.
    """

    table: SalesTable
    problems: tuple[Problem, ...]
    notices: tuple[str, ...]
    rows_read: int
    device_class: DeviceClass


@dataclass(frozen=True, eq=False)
class _Listing:
    """The days of a sale and of its listing; None where the file has no such column."""

    sold_on: DayArray | None
    listed_on: DayArray | None
    withdrawn_on: DayArray | None
    still_listed: BoolArray


def read_sales(
    path: Path,
    device_class: DeviceClass,
    *,
    base: str | None,
    today: date,
    rates: Rates | None = None,
) -> SalesReading:
    """Read a sales file.

    Args:
        path: A CSV file, parted by comma, semicolon, tab or bar, or a Parquet file with the same columns.
        device_class: Says which columns mean what.
        base: Currency of the table; None: the single currency of the file.
        today: Days after it are refused.
        rates: Where exchange rates come from; None: the embedded reference rates.

    Raises:
        NotFound: There is no such file.
        BadInput: The file as a whole cannot be used: encoding, delimiter, column names, several currencies
            without a base, or no row.
    """
    table = read_table(path)
    header = sorted_columns(table.header, device_class, table.source, required=("price",))
    findings = Findings(table)
    for notice in header.notices():
        findings.note(notice)
    numbers = NumberColumns.of(table, ("price", "ask", *number_names(header)))
    price, ask = (_read_amount(name, table, numbers, findings) for name in ("price", "ask"))
    listing = _read_listing(table, today, findings)
    condition = read_condition(table, header, numbers, findings, listing.sold_on)
    asked = read_flags("asked", table, findings) | listing.still_listed
    if listing.withdrawn_on is not None:
        asked |= ~np.isnat(listing.withdrawn_on)
    conversion = conversion_to_base(table, listing.sold_on, findings, base=base, rates=rates)
    assert price is not None  # noqa: S101 - the column is required
    sales = _good_rows(table, condition, listing, conversion, (price, ask), asked, findings)
    return SalesReading(
        table=sales,
        problems=findings.problems,
        notices=tuple(findings.notices),
        rows_read=table.rows,
        device_class=header.device_class,
    )


def _read_amount(
    name: str, table: TextTable, numbers: NumberColumns, findings: Findings
) -> FloatArray | None:
    values = numbers.read(name, table, findings)
    if values is None:
        return None
    findings.report_rows(name, values <= 0, "an amount above 0")
    if name == "price":
        column = table.columns[name]
        findings.report_rows(name, column.rows_of([not word for word in column.stripped]), "a price above 0")
    return values


def _read_listing(table: TextTable, today: date, findings: Findings) -> _Listing:
    sold_on, listed_on, withdrawn_on = (
        _read_day(name, table, today, findings) for name in ("sold_on", "listed_on", "withdrawn_on")
    )
    still_listed = read_flags("still_listed", table, findings)
    if listed_on is not None:
        for name, days in (("sold_on", sold_on), ("withdrawn_on", withdrawn_on)):
            if days is not None:
                findings.report_rows(name, days < listed_on, "a day not before listed_on")
    if withdrawn_on is not None:
        both = still_listed & ~np.isnat(withdrawn_on)
        findings.report_rows("still_listed", both, "no, because withdrawn_on says when it was withdrawn")
    return _Listing(sold_on, listed_on, withdrawn_on, still_listed)


def _read_day(name: str, table: TextTable, today: date, findings: Findings) -> DayArray | None:
    column = table.columns.get(name)
    if column is None:
        return None
    days = read_days(column, today)
    findings.report_words(name, column, days.bad_words)
    return days.values


def _good_rows(
    table: TextTable,
    condition: ConditionTable,
    listing: _Listing,
    conversion: Conversion,
    amounts: tuple[FloatArray, FloatArray | None],
    asked: BoolArray,
    findings: Findings,
) -> SalesTable:
    refunded = read_flags("refunded", table, findings)
    price, ask = (None if amount is None else amount * conversion.factor for amount in amounts)
    assert price is not None  # noqa: S101 - the column is required
    usable = np.isfinite(price) & (price > 0)
    findings.report_rows("price", ~usable & ~findings.bad, "a price that is neither too large nor too small")
    good = ~findings.bad
    return SalesTable(
        condition=condition.take(good),
        price=price[good],
        currency=conversion.currency,
        asked=asked[good],
        refunded=refunded[good],
        ask=None if ask is None else ask[good],
        listed_on=None if listing.listed_on is None else listing.listed_on[good],
        withdrawn_on=None if listing.withdrawn_on is None else listing.withdrawn_on[good],
        still_listed=listing.still_listed[good] if "still_listed" in table.columns else None,
        line=table.line[good],
    )
