"""What a unit of the invented market is truly worth: the equation of ``data.demo.truth``, row by row."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import numpy as np

from data.demo.truth import BrandTruth, ClassTruth, States, Truth
from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import BoolArray, ConditionTable, FloatArray, TextColumn

BLOCKING = ("dead", "removed")


def true_median_log(
    truth: Truth, device_class: DeviceClass, condition: ConditionTable, asked: BoolArray
) -> FloatArray:
    """Return ln of the median price in EUR, shape (rows,).

    Args:
        truth: The coefficients.
        device_class: Says which functions require which.
        condition: True states of every unit, as in ``DemoData.complete``; a blank counts as the usual state.
        asked: True where the price was only asked.

    Raises:
        NotFound: There are no demo sales of this class.
    """
    known = truth.of_class(device_class.name)
    sound = _sound_log(known, condition) + _time_log(truth, condition)
    sound = sound + np.where(asked, truth.asked_log, 0.0)
    state = faults_log(truth, device_class, condition.faults)
    for columns, group in (
        (condition.marks, known.marks),
        (condition.locks, known.locks),
        (condition.parts, known.parts),
    ):
        for states in group:
            state = state + _effect_log(states, columns.get(states.name), condition.rows)
    return np.where(is_for_parts(condition), sound + truth.parts_value_log, sound + state)


def true_spread_log(truth: Truth, device_class: DeviceClass, condition: ConditionTable) -> FloatArray:
    """Return the standard deviation of ln(price) round its median, shape (rows,).

    Raises:
        NotFound: There are no demo sales of this class.
    """
    truth.of_class(device_class.name)
    older = truth.spread_year - condition.numbers["year"]
    spread = truth.spread_log * np.exp(truth.spread_per_year * older)
    faulty = faults_log(truth, device_class, condition.faults) < 0.0
    spread = np.where(faulty, spread * truth.spread_faulty, spread)
    return np.where(is_for_parts(condition), truth.spread_parts_log, spread)


def faults_log(truth: Truth, device_class: DeviceClass, faults: Mapping[str, TextColumn]) -> FloatArray:
    """Return the effect of all faults together on ln(price), shape (rows,).

    Raises:
        NotFound: There are no demo sales of this class.
    """
    known = truth.of_class(device_class.name)
    rows = len(next(iter(faults.values())).codes)
    single = np.zeros((len(known.faults), rows))
    for place, fault in enumerate(known.faults):
        effect = _effect_log(fault, faults.get(fault.name), rows)
        single[place] = np.where(is_blocked(device_class, faults, fault.name), 0.0, effect)
    largest = single.min(axis=0)
    total: FloatArray = largest + truth.together_share * (single.sum(axis=0) - largest)
    return total


def is_blocked(device_class: DeviceClass, faults: Mapping[str, TextColumn], function: str) -> BoolArray:
    """Return where a function cannot be tested because one that it requires is dead or removed."""
    rows = len(next(iter(faults.values())).codes)
    blocked = np.zeros(rows, dtype=np.bool_)
    for needed in required_by(device_class, function):
        if needed in faults:
            blocked |= has_word(faults[needed], *BLOCKING)
    return blocked


def required_by(device_class: DeviceClass, function: str) -> frozenset[str]:
    """Return every function that this one requires, directly or through others."""
    found: set[str] = set()
    waiting = [function]
    while waiting:
        described = device_class.functions_by_name.get(waiting.pop())
        new = set(described.requires) - found if described is not None else set()
        found |= new
        waiting += new
    return frozenset(found)


def has_word(column: TextColumn, *words: str) -> BoolArray:
    """Return where a column's cell is one of the words, shape (rows,)."""
    wanted = [code for code, level in enumerate(column.levels) if level in words]
    return np.isin(column.codes, wanted)


def is_for_parts(condition: ConditionTable) -> BoolArray:
    """Return which units were sold for parts, shape (rows,)."""
    if condition.sold_as is None:
        return np.zeros(condition.rows, dtype=np.bool_)
    return has_word(condition.sold_as, "parts")


def month_index(first_day: date, days: np.ndarray) -> np.ndarray:
    """Return the number of calendar months since the month of ``first_day``, for datetime64 days."""
    start = np.datetime64(first_day, "M")
    return (days.astype("datetime64[M]") - start).astype(np.int64)


def _sound_log(known: ClassTruth, condition: ConditionTable) -> FloatArray:
    total = np.full(condition.rows, known.base_log)
    total += _brand_log(known.brands, condition.texts["brand"], condition.texts["model"])
    for curve in known.curves:
        effect = curve.effect_log(condition.numbers[curve.attribute])
        total += np.where(np.isnan(effect), 0.0, effect)
    for choice in known.choices:
        total += _effect_log(choice, condition.texts.get(choice.name), condition.rows)
    return total


def _brand_log(brands: tuple[BrandTruth, ...], brand: TextColumn, model: TextColumn) -> FloatArray:
    brand_effects = {known.name: known.effect_log for known in brands}
    model_effects = {known.name: known.effect_log for owner in brands for known in owner.models}
    return _mapped(brand, brand_effects) + _mapped(model, model_effects)


def _time_log(truth: Truth, condition: ConditionTable) -> FloatArray:
    days = condition.sold_on
    if days is None:
        return np.zeros(condition.rows)
    years = (days - np.datetime64(truth.first_day, "D")).astype(np.float64) / 365.25
    months = np.clip(month_index(truth.first_day, days), 0, len(truth.walk_log) - 1)
    moved: FloatArray = truth.drift_log * years + truth.walk_log[months]
    return moved


def _effect_log(states: States, column: TextColumn | None, rows: int) -> FloatArray:
    if column is None:
        return np.zeros(rows)
    return _mapped(column, {word: effect for word, (effect, _) in states.states.items()})


def _mapped(column: TextColumn, effects: Mapping[str, float]) -> FloatArray:
    by_code = np.array([*(effects.get(level, 0.0) for level in column.levels), 0.0])
    # The code of "not stated" is -1 and falls on the last place: no effect.
    values: FloatArray = by_code[column.codes]
    return values
