"""When the model declines to price a unit, with the reason; better no figure than a guess."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pricing.hedonic.design import Term
from pricing.hedonic.model import PriceModel
from pricing.hedonic.number_term import NumberTerm
from pricing.hedonic.pieces import Strip
from pricing.records.sales_table import ConditionTable, FloatArray
from pricing.records.unit_columns import UnitCells

WIDEST_FACTOR = 6.0
FARTHEST_SPANS = 1.0
_TOO_WIDE = f"the 80 % interval is wider than a factor of {WIDEST_FACTOR:g}: too little is known"


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
    for row in np.flatnonzero(high_80 > WIDEST_FACTOR * low_80):
        reasons[row] = _TOO_WIDE
    for term in model.design.terms:
        if isinstance(term, NumberTerm):
            for row in np.flatnonzero(term.outside(table) > FARTHEST_SPANS):
                reasons[row] = _too_far(term, float(table.numbers[term.name][row]))
    for name, value in model.design.alike.items():
        if value is not None:
            _note_unlike(table, name, value, reasons)
    return reasons


def reason_to_abstain(
    model: PriceModel, cells: UnitCells, strips: Sequence[tuple[Term, Strip]], low_80: float, high_80: float
) -> str | None:
    """Return why no figure should be given for one unit, None when one may be; see ``reasons_to_abstain``.

    Args:
        model: The fitted model.
        cells: The unit.
        strips: From the model's ``row_reader``.
        low_80, high_80: The 80 % interval in money.
    """
    reason = _TOO_WIDE if high_80 > WIDEST_FACTOR * low_80 else None
    for term, strip in strips:
        if strip.outside > FARTHEST_SPANS and isinstance(term, NumberTerm):
            reason = _too_far(term, cells.numbers[term.name])
    for name, value in model.design.alike.items():
        if value is not None:
            word = _unlike(cells, name, value)
            same = f"{float(value):g}" if name in cells.numbers else value
            reason = reason if word is None else _nothing_known(name, same, word)
    return reason


def _too_far(term: NumberTerm, value: float) -> str:
    return f"{term.name} {value:g} is too far outside: the sales cover {term.low:g} to {term.high:g}"


def _unlike(cells: UnitCells, name: str, value: str) -> str | None:
    """Return in words what the unit states when that is not what all sales have."""
    if name in cells.numbers:
        number = cells.numbers[name]
        return f"{number:g}" if np.isfinite(number) and number != float(value) else None
    word = cells.texts.get(name)
    return word if word != value else None


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
        reasons[row] = _nothing_known(name, value, word)


def _nothing_known(name: str, value: str, word: str) -> str:
    return f"all sales have {name} {value}, so nothing is known of {word}"
