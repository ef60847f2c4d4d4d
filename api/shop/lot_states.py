"""From drawn states of a lot's units to columns that the price model reads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from pricing.decisions.lot_rates import LOCKED, STATUSES, LotStates, StateArray, UnknownFunction
from pricing.records.device_class import DeviceClass, Function
from pricing.records.sales_table import NOT_STATED, BoolArray, ConditionTable, TextColumn

_UNKNOWN = "untested"


def unknown_functions(device_class: DeviceClass, described: ConditionTable) -> tuple[UnknownFunction, ...]:
    """Return the functions whose status the description of some unit leaves open.

    Of a function that only some models have, silence is no news: it counts when the description says untested.
    """
    found = []
    for function in device_class.functions:
        column = described.faults.get(function.name) or _blank(described.rows)
        silent = column.codes == NOT_STATED
        unknown = _is_word(column, _UNKNOWN) | (silent & ~np.bool_(function.optional))
        unknown &= _fitted(function, described)
        if unknown.any():
            found.append(UnknownFunction(function.name, function.gate, unknown))
    return tuple(found)


def with_states(device_class: DeviceClass, described: ConditionTable, states: LotStates) -> ConditionTable:
    """Return the units in drawn states, all units of a draw after another, shape (draws * units,) each column.

    What was unknown is tested by then, and every lock checked: those that hold no unit of the draw are free.
    """
    draws, units = states.unit.shape
    table = described.take(np.tile(np.arange(units), draws))
    faults = dict(table.faults)
    for name, drawn in states.functions.items():
        faults[name] = _told(faults.get(name) or _blank(table.rows), drawn)
    locked = (states.unit == LOCKED).ravel()
    holding = [lock.name for lock in device_class.locks if lock.parts_only][:1]
    locks = {
        lock.name: _lock_column(table.locks.get(lock.name), locked & (lock.name in holding))
        for lock in device_class.locks
    }
    stated = replace(table, faults=faults, locks={**table.locks, **locks})
    return stated if holding else replace(stated, sold_as=_for_parts(stated, locked))


def _told(column: TextColumn, drawn: StateArray) -> TextColumn:
    """Return the column with the drawn statuses where there are any."""
    codes = drawn.ravel().astype(np.int32)
    kept = np.where(column.codes == NOT_STATED, NOT_STATED, column.codes + len(STATUSES))
    levels = (*STATUSES, *column.levels)
    return _distinct(TextColumn(np.where(codes < 0, kept, codes).astype(np.int32), levels))


def _lock_column(column: TextColumn | None, locked: BoolArray) -> TextColumn:
    known = column or _blank(len(locked))
    open_still = (known.codes == NOT_STATED) | _is_word(known, "not checked")
    codes = np.where(open_still, 0, known.codes + 2)
    return _distinct(TextColumn(np.where(locked, 1, codes).astype(np.int32), ("free", "locked", *known.levels)))


def _for_parts(table: ConditionTable, locked: BoolArray) -> TextColumn:
    column = table.sold_as or _blank(table.rows)
    codes = np.where(column.codes == NOT_STATED, NOT_STATED, column.codes + 1)
    return _distinct(TextColumn(np.where(locked, 0, codes).astype(np.int32), ("parts", *column.levels)))


def _distinct(column: TextColumn) -> TextColumn:
    """Return the column with each word once among its levels."""
    levels = tuple(dict.fromkeys(column.levels))
    place = np.array([levels.index(word) for word in column.levels] + [NOT_STATED], dtype=np.int32)
    return TextColumn(place[column.codes], levels)


def _is_word(column: TextColumn, word: str) -> BoolArray:
    return np.array([*(level == word for level in column.levels), False], dtype=np.bool_)[column.codes]


def _fitted(function: Function, described: ConditionTable) -> BoolArray:
    """Return which units have the function, as far as their attributes say."""
    fitted = np.ones(described.rows, dtype=np.bool_)
    for name, words in function.fitted_if.items():
        column = described.texts.get(name)
        fitted &= np.zeros_like(fitted) if column is None else _any_word(column, words)
    return fitted


def _any_word(column: TextColumn, words: Sequence[str]) -> BoolArray:
    found = np.zeros(len(column.codes), dtype=np.bool_)
    for word in words:
        found |= _is_word(column, word)
    return found


def _blank(rows: int) -> TextColumn:
    return TextColumn(np.full(rows, NOT_STATED, dtype=np.int32), ())
