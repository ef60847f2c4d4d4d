"""The user's own exchange rates: a CSV file with the columns date, currency and per_base."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import numpy as np

from data.importing.condition_columns import NumberColumns
from data.importing.currencies import read_currencies
from data.importing.days import read_days
from data.importing.findings import Findings
from data.importing.rates import TableRates, table_rates
from data.importing.text_table import read_text_table
from pricing.errors import Problem, refused, shortened
from pricing.records.money import checked_currency
from pricing.records.sales_table import DayArray, FloatArray, TextColumn

COLUMNS = ("date", "currency", "per_base")


def read_rates_csv(path: Path, *, base: str) -> TableRates:
    """Read rates from a file.

    Args:
        path: A CSV file; each row says that 1 unit of ``base`` was ``per_base`` units of ``currency`` on ``date``.
        base: The currency that the rates are per.

    Raises:
        NotFound: There is no such file.
        BadInput: The base is no currency, a column is missing, a cell is bad, or a day has two rates.
    """
    checked_base = checked_currency(base)
    table = read_text_table(path)
    found = shortened(", ".join(table.header))
    missing = [name for name in COLUMNS if name not in table.columns]
    if missing:
        raise refused(table.source, [Problem(table.source, 1, n, found, f"a column named {n}") for n in missing])
    findings = Findings(table)
    days = read_days(table.columns["date"], None)
    findings.report_words("date", table.columns["date"], days.bad_words)
    codes = read_currencies(table, findings)
    rates = NumberColumns.of(table, ("per_base",)).read("per_base", table, findings)
    assert rates is not None  # noqa: S101 - the column was looked for above
    for name in COLUMNS:
        blank = table.columns[name].rows_of([not word for word in table.columns[name].stripped])
        findings.report_rows(name, blank, "a date, a currency and a rate in every row")
    findings.report_rows("per_base", rates <= 0, "a rate above 0")
    if codes is not None:
        findings.report_rows("date", _repeated(days.values, codes), "one rate per day and currency")
    if findings.problems or codes is None:
        raise refused(table.source, list(findings.problems))
    return _as_table(checked_base, days.values, codes, rates)


def _repeated(days: DayArray, codes: TextColumn) -> np.ndarray:
    pairs = np.stack([days.astype(np.int64), codes.codes.astype(np.int64)])
    _, first = np.unique(pairs, axis=1, return_index=True)
    repeated = np.ones(len(days), dtype=np.bool_)
    repeated[first] = False
    return repeated


def _as_table(base: str, days: DayArray, codes: TextColumn, rates: FloatArray) -> TableRates:
    rows = ((row, codes.word(row)) for row in range(len(days)))
    known = ((days[row].item(), word, Decimal(repr(float(rates[row])))) for row, word in rows if word is not None)
    return table_rates(base, known)
