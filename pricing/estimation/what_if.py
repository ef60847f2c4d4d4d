"""What a change of the unit would do to its price, with an interval of the change itself.

The unit's own error is the same before and after, so it cancels: the change d of ln(price) has the variance
s2 (r1 - r0)' V (r1 - r0) of the fitted effects alone, plus that of levels never seen which only one side has.
In money, the change is taken at the estimate before. An effect's interval comes from the posterior without bounds
and is then cut at the bound (a fault cannot raise the price).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Literal

import numpy as np
from scipy.optimize import nnls

from pricing.errors import Abstained, BadInput, Problem, shortened
from pricing.estimation.estimate import check_class, estimate_rows, in_money
from pricing.hedonic.fault_term import FaultTerm
from pricing.hedonic.interaction_term import SlopeTerm
from pricing.hedonic.level_term import LevelTerm
from pricing.hedonic.market_term import MarketTerm
from pricing.hedonic.model import Prediction, PriceModel
from pricing.hedonic.pieces import one_hot
from pricing.records.device_class import LOCK_STATES, ORIGINS, STATUSES, DeviceClass
from pricing.records.estimate import WhatIf
from pricing.records.money import Money, rounded
from pricing.records.sales_table import ConditionTable, FloatArray, TextColumn
from pricing.records.unit import Unit
from pricing.records.unit_columns import columns_of_units

ChangeKind = Literal["attribute", "function", "mark", "part", "lock"]
_FIELDS = {"attribute": "texts", "function": "faults", "mark": "marks", "part": "parts", "lock": "locks"}
_NORMAL_95 = 1.959963984540054
_NO_REST = 1e-9


@dataclass(frozen=True)
class Change:
    """One thing to change: kind, name and new value ("none" takes a mark away)."""

    kind: ChangeKind
    name: str
    value: str


def parse_change(text: str, device_class: DeviceClass) -> Change:
    """Return the change that "function:NAME=STATUS" and its like describe.

    Args:
        text: kind:NAME=VALUE with kind attribute, function, mark, part or lock.
        device_class: The unit's class.

    Raises:
        BadInput: The form, name or value is wrong.
    """
    kind, colon, rest = text.partition(":")
    name, equals, value = (part.strip() for part in rest.partition("="))
    tables: dict[str, tuple[Sequence[str], Sequence[str] | None]] = {
        "attribute": (tuple(device_class.attributes_by_name), None),
        "function": (tuple(device_class.functions_by_name), STATUSES),
        "mark": (tuple(device_class.surfaces_by_name), (*device_class.fault_prior.marks, "none")),
        "part": (tuple(device_class.parts_by_name), ORIGINS),
        "lock": (tuple(device_class.locks_by_name), LOCK_STATES),
    }
    if not (colon and equals and name and value) or kind not in tables:
        raise _wrong(text, "kind:NAME=VALUE with kind attribute, function, mark, part or lock")
    names, values = tables[kind]
    if name not in names:
        raise _wrong(name, f"a {kind} of the class {device_class.name}: {', '.join(names)}")
    if values is not None and value not in values:
        raise _wrong(value, f"one of {', '.join(values)}")
    if kind == "attribute":
        _check_attribute(name, value, device_class)
    return Change(kind=kind, name=name, value=value)  # type: ignore[arg-type]


def _wrong(found: str, expected: str) -> BadInput:
    problem = Problem("change", None, None, shortened(found), expected)
    return BadInput(str(problem), (problem,))


def _check_attribute(name: str, value: str, device_class: DeviceClass) -> None:
    attribute = device_class.attributes_by_name[name]
    if attribute.kind != "number":
        return
    try:
        finite = Decimal(value).is_finite()
    except InvalidOperation:
        finite = False
    if not finite or (attribute.scale == "log" and Decimal(value) <= 0):
        raise _wrong(value, f"a number for {name}")


def changed(table: ConditionTable, row: int, changes: Sequence[Change]) -> ConditionTable:
    """Return the table with the changes made in one row.

    They are made in the columns, not in the unit: a supposed status holds when the work is done, so no earlier
    opening makes it void.
    """
    for change in changes:
        field = _FIELDS[change.kind]
        if change.kind == "attribute" and change.name in table.numbers:
            numbers = table.numbers[change.name].copy()
            numbers[row] = float(change.value)
            table = replace(table, numbers={**table.numbers, change.name: numbers})
            continue
        columns: Mapping[str, TextColumn] = getattr(table, field)
        column = columns[change.name]
        codes = column.codes.copy()
        codes[row] = len(column.levels)
        new = TextColumn(codes, (*column.levels, change.value))
        table = replace(table, **{field: {**columns, change.name: new}})  # type: ignore[arg-type]
    return table


def what_if(model: PriceModel, unit: Unit, changes: Sequence[Change], *, on: date | None = None) -> WhatIf:
    """Return how the estimate changes.

    Args:
        model: The fitted model.
        unit: A unit of the model's class.
        changes: What to change.
        on: The day; None: the model's own.

    Raises:
        BadInput: The unit does not fit its class.
        Abstained: The model declines to price the unit before or after.
    """
    check_class(model, unit)
    table = model.dated(columns_of_units((unit, unit), model.device_class), on)
    pair = changed(table, 1, changes)
    before, after = estimate_rows(model, pair)
    for estimate in (before, after):
        if estimate.abstained is not None:
            raise Abstained(estimate.abstained)
    if before.estimate is None or after.estimate is None:
        raise Abstained("no figure for this unit")
    low_log, high_log = change_interval_log(model, pair)
    start = float(before.estimate.amount)
    change = after.estimate.amount - before.estimate.amount
    percent = 100 * change / before.estimate.amount if before.estimate.amount else Decimal(0)
    return WhatIf(
        before=before.estimate,
        after=after.estimate,
        change=Money(amount=change, currency=before.estimate.currency),
        percent=percent.quantize(Decimal("0.01")),
        low_95=_end(start * np.expm1(low_log), model),
        high_95=_end(start * np.expm1(high_log), model),
        reasons=after.reasons,
    )


def _end(figure: float, model: PriceModel) -> Money:
    found = in_money(float(figure), model)
    if found is None:
        raise Abstained("the change has no figure")
    return Money(amount=rounded(found.amount, found.currency), currency=found.currency)


def change_interval_log(model: PriceModel, pair: ConditionTable) -> tuple[float, float]:
    """Return the 95 % interval of ln(price after) - ln(price before), for a dated table of two units."""
    prediction = model.predict(pair)
    raw = model.design.rows(prediction.read)
    rows = raw.to_dense()
    difference = rows[1] - rows[0]
    unseen = _unseen_variance(model, prediction)
    variance = model.effect_sigma2 * float(difference @ model.inverse @ difference) + unseen
    half = _NORMAL_95 * float(np.sqrt(max(variance, 0.0)))
    trees = float(np.diff(model.correction(prediction.read))[0])
    free, bounded = float(difference @ model.free_effects) + trees, float(difference @ model.effects) + trees
    low, high = free - half, free + half
    direction = 0 if unseen else _direction(model, pair)
    if direction < 0:
        high = min(high, 0.0)
    elif direction > 0:
        low = max(low, 0.0)
    return min(low, bounded), max(high, bounded)


def _unseen_variance(model: PriceModel, prediction: Prediction) -> float:
    """Return the variance from levels never seen that before and after do not share."""
    total = 0.0
    for term, place in zip(model.design.terms, model.design.places, strict=True):
        if isinstance(term, LevelTerm | SlopeTerm):
            path = term.path if isinstance(term, LevelTerm) else term.levels.path
            words = [tuple(c.word(row) if c else None for c in map(prediction.read.texts.get, path))
                     for row in (0, 1)]  # fmt: skip
            if words[0] != words[1]:
                total += float(prediction.unseen[:, place.depth].sum())
    return total


def _direction(model: PriceModel, pair: ConditionTable) -> int:
    """Return -1 when the bounds of effects say that the change cannot raise the price, 1 cannot lower it, else 0.

    They say so when the change is a sum of bounds with factors of 0 or more (Farkas' lemma). States count as told:
    what hangs on a failing gate, and the worth of the parts, never turn a change for the worse into a better one.
    """
    difference = _told_difference(model, pair)
    touched = np.flatnonzero(difference)
    if not len(touched):
        return 0
    bounds = model.design.bounds
    outside = np.ones(model.design.columns)
    outside[touched] = 0.0
    within = bounds[np.flatnonzero(abs(bounds) @ outside == 0)][:, touched].toarray()
    if not len(within):
        return 0  # nnls ends the process when it is given no columns
    for sign in (-1, 1):
        _, left = nnls(within.T, sign * difference[touched])
        if left < _NO_REST:
            return sign
    return 0


def _told_difference(model: PriceModel, pair: ConditionTable) -> FloatArray:
    """Return raw row 1 less raw row 0 with every state as told, shape (raw columns,)."""
    difference = np.zeros(model.design.columns)
    for term, place in zip(model.design.terms, model.design.places, strict=True):
        if isinstance(term, MarketTerm):
            piece = term.piece(pair, None)
        else:
            piece = term.states.piece(pair) if isinstance(term, FaultTerm) else term.piece(pair)
        difference[place.dense : place.dense + piece.dense.shape[1]] = piece.dense[1] - piece.dense[0]
        hot = one_hot(piece.places, term.hot_columns).toarray()
        difference[place.hot : place.hot + term.hot_columns] = hot[1] - hot[0]
    return difference
