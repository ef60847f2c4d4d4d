"""The currency of each row, and prices of several currencies brought to one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

import numpy as np

from data.importing.condition_columns import read_words
from data.importing.findings import Findings
from data.importing.rates import STALE_DAYS, Rates, ReferenceRates
from data.importing.text_table import TextTable
from data.importing.words import Words
from pricing.errors import BadInput, NotFound, Problem, counted, refused
from pricing.records.money import Money, checked_currency, rounded
from pricing.records.sales_table import NOT_STATED, BoolArray, DayArray, FloatArray, TextColumn

# More than the days that a year of four digits can hold, so that (currency, day) fits one number.
_MOST_DAYS = 4_000_000
_EXPECTED = "a currency code of ISO 4217, such as EUR"


@dataclass(frozen=True, eq=False)
class Conversion:
    """The base currency, "" when nothing names one, and base per unit of each row's currency (NaN: bad)."""

    currency: str
    factor: FloatArray


@dataclass(frozen=True, eq=False)
class DayConversion:
    """Of each row: base per unit of its currency on one day (NaN: bad), and that currency."""

    factor: FloatArray
    currencies: tuple[str, ...]


def read_currencies(table: TextTable, findings: Findings) -> TextColumn | None:
    """Return the column ``currency`` as codes in capitals; None when the file lacks it or it is empty."""
    column = read_words("currency", table, Words(_code, _EXPECTED), findings)
    return column if column is not None and column.levels else None


def conversion_to_base(
    table: TextTable,
    sold_on: DayArray | None,
    findings: Findings,
    *,
    base: str | None,
    rates: Rates | None,
) -> Conversion:
    """Return what turns each row's price into the base currency.

    A file of one currency has that as its base, unless another one is given. Otherwise each row is converted at
    the rate of the day on which it was sold.

    Args:
        table: The file.
        sold_on: Day of each sale, None when the file has no such column.
        findings: Where rows without a day, a currency or a rate are reported.
        base: The currency wanted; None: that of the file.
        rates: Where rates come from; None: the embedded reference rates.

    Raises:
        BadInput: The base is no currency, or the file has several currencies and no base is given.
    """
    wanted = checked_currency(base) if base else None
    column = read_currencies(table, findings)
    if column is None:
        if wanted:
            findings.note(f"no row names a currency; all prices are taken to be in {wanted}")
        return Conversion(wanted or "", np.ones(table.rows))
    _report_blank(table, findings)
    target = wanted or _only_currency(table, column)
    if column.levels == (target,):
        return Conversion(target, np.ones(table.rows))
    days = np.full(table.rows, np.datetime64("NaT", "D")) if sold_on is None else sold_on
    findings.report_rows("sold_on", np.isnat(days), f"a day, because prices are converted to {target}")
    return Conversion(target, _factors(column, days, findings, target, rates or ReferenceRates()))


def conversion_on_day(
    table: TextTable, priced: BoolArray, findings: Findings, *, base: str, on: date, rates: Rates
) -> DayConversion:
    """Return what turns each row's price into the base currency on one day, the same for all rows.

    Args:
        table: The file.
        priced: Rows with a price; the others need no currency.
        findings: Where rows without a currency or a rate are reported.
        base: The currency wanted.
        on: Day of the rates.
        rates: Where rates come from.
    """
    column = read_currencies(table, findings)
    codes = [None if column is None else column.word(row) for row in range(table.rows)]
    if column is None and priced.any():
        findings.note(f"no row names a currency; all prices are taken to be in {base}")
    elif column is not None:
        blank = np.array([code is None for code in codes], dtype=np.bool_)
        stated = table.columns["currency"].rows_of([not word for word in table.columns["currency"].stripped])
        findings.report_rows("currency", priced & blank & stated, "the currency of the price, as in the other rows")
    by_code: dict[str, float] = {base: 1.0}
    for code in dict.fromkeys(code for code in codes if code is not None and code != base):
        try:
            rate = rates.rate(code, base, on)
        except NotFound as error:
            mine = np.array([each == code for each in codes], dtype=np.bool_)
            findings.report_rows("currency", mine & priced, f"a currency with a rate for {on}: {error}")
            continue
        by_code[code] = float(rate.rate)
        if (on - rate.day).days > STALE_DAYS:
            findings.note(f"the rate of {code} is of {rate.day}, {(on - rate.day).days} days before {on}")
    factor = np.array([by_code.get(code or base, np.nan) for code in codes], dtype=np.float64)
    return DayConversion(factor, tuple(code or base for code in codes))


def converted(amount: float, factor: Decimal, base: str) -> Money:
    """Return an amount of a file in the base currency, rounded to its minor unit."""
    return Money(amount=rounded(Decimal(repr(amount)) * factor, base), currency=base)


def _code(word: str) -> str | None:
    try:
        return checked_currency(word)
    except BadInput:
        return None


def _report_blank(table: TextTable, findings: Findings) -> None:
    column = table.columns["currency"]
    blank = column.rows_of([not word for word in column.stripped])
    findings.report_rows("currency", blank, f"{_EXPECTED}, as in the other rows")


def _only_currency(table: TextTable, column: TextColumn) -> str:
    if len(column.levels) > 1:
        found = f"the currencies {', '.join(column.levels[:8])}"
        expected = "one currency, or the base to which prices are converted (--base)"
        raise refused(table.source, [Problem(table.source, None, "currency", found, expected)])
    return column.levels[0]


def _factors(
    column: TextColumn, days: DayArray, findings: Findings, base: str, rates: Rates
) -> FloatArray:
    usable = np.flatnonzero((column.codes != NOT_STATED) & ~np.isnat(days))
    # One number per pair of currency and day, so that each rate is looked up once.
    keys = column.codes[usable].astype(np.int64) * _MOST_DAYS + days[usable].astype(np.int64)
    distinct, places = np.unique(keys, return_inverse=True)
    values, ages = np.full(len(distinct), np.nan), np.zeros(len(distinct), dtype=np.int64)
    refusals: dict[int, str] = {}
    worst = ""
    for place, key in enumerate(distinct.tolist()):
        code, day_number = divmod(key, _MOST_DAYS)
        currency, day = column.levels[code], date(1970, 1, 1) + timedelta(days=day_number)
        try:
            found = rates.rate(currency, base, day)
        except NotFound as error:
            refusals[place] = f"a currency with a rate for its day: {error}"
            continue
        values[place], ages[place] = float(found.rate), (day - found.day).days
        if ages[place] == ages.max():
            worst = f"{currency} of {found.day} for {day}"
    for place, expected in refusals.items():
        rows = np.zeros(len(days), dtype=np.bool_)
        rows[usable[places == place]] = True
        findings.report_rows("currency", rows, expected)
    stale = int(np.count_nonzero(ages[places] > STALE_DAYS))
    if stale:
        old = f"{counted(stale, 'price')} converted at a rate more than {STALE_DAYS} days old"
        findings.note(f"{old}; the oldest is {ages.max()} days old: {worst}")
    factor = np.full(len(days), np.nan)
    factor[usable] = values[places]
    return factor
