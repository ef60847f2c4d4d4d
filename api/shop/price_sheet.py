"""The price sheet: the units' own columns, then what each unit is worth."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from pricing.estimation.estimate import EstimateColumns
from pricing.records.estimate import LEVELS
from pricing.records.sales_table import FloatArray

DIGITS = 10
NUMBER_COLUMNS = ("estimate", "expected", *(f"{end}_{level}" for level in LEVELS for end in ("low", "high")))
PRICE_COLUMNS = (*NUMBER_COLUMNS, "support", "abstained")


def sheet_rows(
    cells: Sequence[Sequence[str]], bad: Mapping[int, str], priced: EstimateColumns
) -> Iterator[tuple[str, ...]]:
    """Yield the cells of each unit followed by its prices, in the order of ``cells``.

    A row in ``bad`` keeps its place, with empty numbers and the reason as "abstained".
    """
    numbers = _number_columns(priced)
    for row, given in enumerate(cells):
        if row in bad:
            yield (*given, *[""] * len(NUMBER_COLUMNS), "", bad[row])
        else:
            amounts = [plain_decimal(column[row].item()) for column in numbers]
            yield (*given, *amounts, priced.support[row], priced.abstained[row] or "")


def plain_decimal(number: float) -> str:
    """Return a number with 10 significant digits and no exponent; NaN is empty."""
    if np.isnan(number):
        return ""
    return np.format_float_positional(number, precision=DIGITS, unique=False, fractional=False, trim="-")


def _number_columns(priced: EstimateColumns) -> Sequence[FloatArray]:
    ends = [end[level] for level in LEVELS for end in (priced.low, priced.high)]
    return [priced.estimate, priced.expected, *ends]
