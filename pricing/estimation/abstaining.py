"""When the model declines to price a unit, with the reason; better no figure than a guess."""

from __future__ import annotations

import numpy as np

from pricing.hedonic.model import PriceModel
from pricing.hedonic.number_term import NumberTerm
from pricing.records.sales_table import ConditionTable, FloatArray

WIDEST_FACTOR = 6.0
FARTHEST_SPANS = 1.0


def reasons_to_abstain(
    model: PriceModel, table: ConditionTable, low_80: FloatArray, high_80: FloatArray
) -> list[str | None]:
    """Return for each unit why no figure should be given, None when one may be.

    Args:
        model: The fitted model.
        table: The units.
        low_80, high_80: shape (rows,), the 80 % interval in money.
    """
    reasons: list[str | None] = [None] * table.rows
    wide = high_80 > WIDEST_FACTOR * low_80
    for row in np.flatnonzero(wide):
        reasons[row] = f"the 80 % interval is wider than a factor of {WIDEST_FACTOR:g}: too little is known"
    for term in model.design.terms:
        if isinstance(term, NumberTerm):
            far = np.flatnonzero(term.outside(table) > FARTHEST_SPANS)
            for row in far:
                value = table.numbers[term.name][row]
                span = f"the sales cover {term.low:g} to {term.high:g}"
                reasons[row] = f"{term.name} {value:g} is too far outside: {span}"
    for name, value in model.design.alike.items():
        if value is not None:
            _note_unlike(table, name, value, reasons)
    return reasons


def _note_unlike(table: ConditionTable, name: str, value: str, reasons: list[str | None]) -> None:
    """Note the units that differ where all sales are alike: nothing is known of what that is worth."""
    if name in table.numbers:
        numbers = table.numbers[name]
        unlike = np.flatnonzero(np.isfinite(numbers) & (numbers != float(value)))
        found = {int(row): f"{numbers[row]:g}" for row in unlike}
        value = f"{float(value):g}"
    elif name in table.texts:
        column = table.texts[name]
        other = [code for code, level in enumerate(column.levels) if level != value]
        found = {int(row): str(column.word(int(row))) for row in np.flatnonzero(np.isin(column.codes, other))}
    else:
        return
    for row, word in found.items():
        reasons[row] = f"all sales have {name} {value}, so nothing is known of {word}"
