"""A parts list from a CSV file: where each part can be had, at what price, or that it was looked for in vain.

Columns: ``part`` is required; ``source``, ``price``, ``currency``, ``postage`` (in the same currency), ``min_order``
(fewest pieces), ``lead_days``, ``available`` (yes, no, donor), ``checked_on``, ``quality``, ``variant``, ``doa_share``,
``success`` and ``minutes`` are optional. Prices of other currencies are converted at the day's rate.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path

import numpy as np

from data.importing.condition_columns import read_number_columns, read_words, word_at
from data.importing.currencies import conversion_on_day, converted
from data.importing.days import read_days
from data.importing.findings import Findings
from data.importing.rates import Rates, ReferenceRates
from data.importing.text_table import TextTable, read_text_table
from data.importing.words import ANY_WORDS, fixed_words, option_words
from pricing.errors import Problem, refused
from pricing.records.device_class import DeviceClass
from pricing.records.money import Money, checked_currency
from pricing.records.part_offer import PartOffer
from pricing.records.sales_table import FloatArray, TextColumn

COLUMNS = (
    "part", "source", "price", "currency", "postage", "min_order", "lead_days", "available", "checked_on", "quality",
    "variant", "doa_share", "success", "minutes",
)  # fmt: skip
_NUMBERS = ("price", "postage", "min_order", "lead_days", "doa_share", "success", "minutes")
_SHARES = ("doa_share", "success")
_AVAILABLE = fixed_words({"yes": "yes", "no": "no", "donor": "donor"})
QUALITY_WORDS = fixed_words({"original": "original", "third-party": "third-party", "salvaged": "salvaged"})


@dataclass(frozen=True, eq=False)
class PartsReading:
    """What a parts list holds.

    Attributes:
        offers: The good rows in the file's order, in the base currency.
        problems: What is wrong, cell by cell; those rows were left out.
        notices: What the user should know of how the file was read.
    """

    offers: tuple[PartOffer, ...]
    problems: tuple[Problem, ...]
    notices: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class _Columns:
    """The columns of one file, checked."""

    texts: Mapping[str, TextColumn | None]
    numbers: Mapping[str, FloatArray]
    days: list[date | None]
    factor: FloatArray
    currencies: Sequence[str]


def read_parts(
    path: Path, device_class: DeviceClass, *, base: str, on: date, rates: Rates | None = None
) -> PartsReading:
    """Read a parts list.

    Args:
        path: A CSV file.
        device_class: The class whose parts it names.
        base: Currency of the plan.
        on: Day of the plan: nothing can have been checked after it, and rates are of this day.
        rates: Where rates come from; None: the embedded reference rates.

    Raises:
        NotFound: There is no such file.
        BadInput: The file as a whole cannot be used, or the base is no currency.
    """
    wanted = checked_currency(base)
    table = read_text_table(path)
    if "part" not in table.columns:
        found = ", ".join(table.header)[:60]
        raise refused(table.source, [Problem(table.source, 1, "part", f"the columns {found}", "a column named part")])
    findings = Findings(table)
    unknown = [name for name in table.header if name not in COLUMNS]
    if unknown:
        findings.note(f"columns that mean nothing in a parts list were not used: {', '.join(unknown)}")
    columns = _read_columns(table, device_class, findings, wanted, on, rates or ReferenceRates())
    rows = np.flatnonzero(~findings.bad)
    offers = tuple(_offer(table, columns, int(row), wanted) for row in rows)
    return PartsReading(offers, findings.problems, tuple(findings.notices))


def _read_columns(
    table: TextTable, device_class: DeviceClass, findings: Findings, base: str, on: date, rates: Rates
) -> _Columns:
    words = {"part": option_words(device_class.parts_by_name), "available": _AVAILABLE, "quality": QUALITY_WORDS,
             "source": ANY_WORDS, "variant": ANY_WORDS}  # fmt: skip
    texts = {name: read_words(name, table, allowed, findings) for name, allowed in words.items()}
    blank = table.columns["part"].rows_of([not word for word in table.columns["part"].stripped])
    findings.report_rows("part", blank, "the name of a part of the class")
    numbers = _read_numbers(table, findings)
    days: list[date | None] = [None] * table.rows
    if "checked_on" in table.columns:
        read = read_days(table.columns["checked_on"], on)
        findings.report_words("checked_on", table.columns["checked_on"], read.bad_words)
        days = [None if np.isnat(day) else day.item() for day in read.values]
    priced = np.isfinite(numbers["price"])
    offered = np.array([word_at(texts["available"], row) in (None, "yes") for row in range(table.rows)], dtype=np.bool_)
    # A price that could not be read has been reported already.
    unstated = np.ones(table.rows, dtype=np.bool_)
    if "price" in table.columns:
        unstated = table.columns["price"].rows_of([not word for word in table.columns["price"].stripped])
    findings.report_rows("price", offered & unstated, "a price, because the part is available; or available no")
    exchanged = conversion_on_day(table, priced, findings, base=base, on=on, rates=rates)
    return _Columns(texts, numbers, days, exchanged.factor, exchanged.currencies)


def _read_numbers(table: TextTable, findings: Findings) -> dict[str, FloatArray]:
    found = read_number_columns(table, _NUMBERS, findings, not_below_0=_NUMBERS)
    for name in _SHARES:
        findings.report_rows(name, found[name] > 1, "a share of 1: 0.05 for five in a hundred")
    pieces = found["min_order"]
    findings.report_rows("min_order", (pieces >= 0) & ((pieces < 1) | (pieces % 1 != 0)), "a whole number of pieces")
    return found


def _offer(table: TextTable, columns: _Columns, row: int, base: str) -> PartOffer:
    def number(name: str, default: float) -> float:
        """Return a cell's number, the default where it is not stated."""
        value = float(columns.numbers[name][row])
        return default if np.isnan(value) else value

    price = float(columns.numbers["price"][row])
    available = word_at(columns.texts["available"], row) or "yes"
    fields: dict[str, object] = {
        "part": word_at(columns.texts["part"], row),
        "source": word_at(columns.texts["source"], row) or "no source given",
        "available": available,
        "checked_on": columns.days[row],
        "min_order": int(number("min_order", 1)),
        "lead_days": number("lead_days", 0),
        "quality": word_at(columns.texts["quality"], row) or ("salvaged" if available == "donor" else "third-party"),
        "variant": word_at(columns.texts["variant"], row),
        "doa_share": number("doa_share", 0),
        "line": int(table.line[row]),
    }
    for name in ("success", "minutes"):
        value = float(columns.numbers[name][row])
        fields[name] = None if np.isnan(value) else value
    if np.isfinite(price):
        rate = Decimal(repr(float(columns.factor[row])))
        fields["price"] = converted(price, rate, base)
        fields["postage"] = converted(number("postage", 0), rate, base)
        fields["quoted"] = Money(amount=Decimal(repr(price)), currency=columns.currencies[row])
    return PartOffer.model_validate(fields)
