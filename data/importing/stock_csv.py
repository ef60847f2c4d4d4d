"""The stock of parts from a CSV file.

Columns: ``part`` and ``cost`` (of one piece) are required; ``worth`` (what a piece would bring otherwise),
``currency``, ``pieces``, ``quality`` and ``variant`` are optional, and so is each group attribute of the class (brand,
model): a part fits the units that have the same there, and every unit where nothing is stated.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path

import numpy as np

from data.importing.condition_columns import read_number_columns, read_words, word_at
from data.importing.currencies import DayConversion, conversion_on_day, converted
from data.importing.findings import Findings
from data.importing.parts_csv import QUALITY_WORDS
from data.importing.rates import Rates, ReferenceRates
from data.importing.text_table import TextTable, read_text_table
from data.importing.words import ANY_WORDS, option_words
from pricing.errors import Problem, refused
from pricing.records.device_class import DeviceClass
from pricing.records.money import Money, checked_currency
from pricing.records.sales_table import FloatArray, TextColumn
from pricing.records.stock import StockPart

_REQUIRED = ("part", "cost")
_NUMBERS = ("cost", "worth", "pieces")
_OTHERS = ("currency", "quality", "variant")
_MOST_PIECES = 100_000


@dataclass(frozen=True, eq=False)
class StockReading:
    """What a file of stock holds.

    Attributes:
        stock: The good rows in the file's order, in the base currency.
        problems: What is wrong, cell by cell; those rows were left out.
        notices: What the user should know of how the file was read.
    """

    stock: tuple[StockPart, ...]
    problems: tuple[Problem, ...]
    notices: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class _Columns:
    texts: Mapping[str, TextColumn | None]
    numbers: Mapping[str, FloatArray]
    exchanged: DayConversion
    groups: tuple[str, ...]


def read_stock(
    path: Path, device_class: DeviceClass, *, base: str, on: date, rates: Rates | None = None
) -> StockReading:
    """Read a file of stock.

    Args:
        path: A CSV file.
        device_class: The class whose parts it names.
        base: Currency of the plan.
        on: Day of the rates at which other currencies are converted.
        rates: Where rates come from; None: the embedded reference rates.

    Raises:
        NotFound: There is no such file.
        BadInput: The file as a whole cannot be used, or the base is no currency.
    """
    wanted = checked_currency(base)
    table = read_text_table(path)
    _check_header(table)
    findings = Findings(table)
    groups = tuple(each.name for each in device_class.attributes if each.kind == "group" and each.name in table.columns)
    unknown = [name for name in table.header if name not in (*_REQUIRED, *_NUMBERS, *_OTHERS, *groups)]
    if unknown:
        findings.note(f"columns that mean nothing in a stock of parts were not used: {', '.join(unknown)}")
    numbers = _read_numbers(table, findings)
    words = {"part": option_words(device_class.parts_by_name), "quality": QUALITY_WORDS, "variant": ANY_WORDS}
    words |= dict.fromkeys(groups, ANY_WORDS)
    texts = {name: read_words(name, table, allowed, findings) for name, allowed in words.items()}
    for name, expected in (("part", "the name of a part of the class"), ("cost", "what one piece cost")):
        blank = table.columns[name].rows_of([not word for word in table.columns[name].stripped])
        findings.report_rows(name, blank, expected)
    priced = np.isfinite(numbers["cost"])
    exchanged = conversion_on_day(table, priced, findings, base=wanted, on=on, rates=rates or ReferenceRates())
    columns = _Columns(texts, numbers, exchanged, groups)
    rows = np.flatnonzero(~findings.bad)
    stock = tuple(_stock_part(table, columns, int(row), wanted) for row in rows)
    return StockReading(stock, findings.problems, tuple(findings.notices))


def _check_header(table: TextTable) -> None:
    found = f"the columns {', '.join(table.header)[:60]}"
    lacking = [name for name in _REQUIRED if name not in table.columns]
    if lacking:
        problems = [Problem(table.source, 1, name, found, f"a column named {name}") for name in lacking]
        raise refused(table.source, problems)


def _read_numbers(table: TextTable, findings: Findings) -> dict[str, FloatArray]:
    found = read_number_columns(table, _NUMBERS, findings, not_below_0=("cost", "worth"))
    pieces = found["pieces"]
    wrong = (pieces < 1) | (pieces % 1 != 0) | (pieces > _MOST_PIECES)
    findings.report_rows("pieces", np.isfinite(pieces) & wrong, f"a whole number of pieces, 1 to {_MOST_PIECES:,}")
    return found


def _stock_part(table: TextTable, columns: _Columns, row: int, base: str) -> StockPart:
    factor = Decimal(repr(float(columns.exchanged.factor[row])))

    def money(name: str) -> Money | None:
        """Return a cell's amount in the base currency, None where it is not stated."""
        value = float(columns.numbers[name][row])
        return None if np.isnan(value) else converted(value, factor, base)

    def word(name: str) -> str | None:
        """Return a cell's word, None where it is not stated."""
        return word_at(columns.texts[name], row)

    pieces = float(columns.numbers["pieces"][row])
    fields = {
        "part": word("part"),
        "cost": money("cost"),
        "worth": money("worth"),
        "pieces": 1 if np.isnan(pieces) else int(pieces),
        "quality": word("quality") or "third-party",
        "variant": word("variant"),
        "fits": {name: level for name in columns.groups if (level := word(name)) is not None},
        "line": int(table.line[row]),
    }
    return StockPart.model_validate(fields)
