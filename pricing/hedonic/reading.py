"""How units are read, and what the fitted effects say of them, block by block.

Failing gates are told as untested where that is the lower price (see ``FaultTerm.readings``), and then a unit is read
as sold for parts where that is worth more: nobody need take less.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pricing.hedonic.design import Design
from pricing.hedonic.fault_term import FaultTerm, told_untested
from pricing.hedonic.market_term import sold_for_parts
from pricing.hedonic.passes import in_turn
from pricing.hedonic.pieces import RawRows
from pricing.hedonic.state_term import StateTerm
from pricing.records.sales_table import NOT_STATED, BoolArray, ConditionTable, FloatArray, TextColumn

Told = tuple[NDArray[np.intp], tuple[str, ...]]


@dataclass(frozen=True, eq=False)
class ReadUnits:
    """What the fitted effects say of units.

    Attributes:
        mean: shape (rows,): r beta of the units as read.
        own: shape (rows,): what ``variance`` made of them.
        unseen: shape (rows, depths): how far each row reaches beyond the levels seen.
        told: Row numbers, and the functions told as untested there.
        as_parts: shape (rows,): read as sold for parts.
    """

    mean: FloatArray
    own: FloatArray
    unseen: FloatArray
    told: tuple[Told, ...]
    as_parts: BoolArray

    def table(self, units: ConditionTable) -> ConditionTable:
        """Return the units as read."""
        for rows, functions in self.told:
            units = told_untested(units, functions, rows)
        if not self.as_parts.any():
            return units
        column = units.sold_as or TextColumn(np.full(units.rows, NOT_STATED, dtype=np.int32), ())
        levels = column.levels if "parts" in column.levels else (*column.levels, "parts")
        codes = np.where(self.as_parts, levels.index("parts"), column.codes).astype(np.int32)
        return replace(units, sold_as=TextColumn(codes, levels))


def read_units(
    design: Design, effects: FloatArray, variance: Callable[[RawRows], FloatArray], units: ConditionTable
) -> ReadUnits:
    """Read units and predict them.

    Args:
        design: The columns.
        effects: beta, shape (raw columns,).
        variance: From raw rows to the variance of each, shape (rows,).
        units: Dated units.
    """
    bare = _for_parts(design, effects)

    def block(part: slice) -> ReadUnits:
        """Read some of the units."""
        return _read_block(design, effects, bare, variance, units.part(part))

    return _joined(list(in_turn(block, units.rows)), design)


def _for_parts(design: Design, effects: FloatArray) -> tuple[FloatArray, float] | None:
    """Return the effects that are left for a unit sold for parts, and what that itself is worth; None: unknown."""
    if not design.market.parts:
        return None
    left = effects.copy()
    for term, place in zip(design.terms, design.places, strict=True):
        if isinstance(term, FaultTerm | StateTerm):
            left[place.dense : place.dense + term.dense_columns] = 0.0
            left[place.hot : place.hot + term.hot_columns] = 0.0
    own = design.places[design.terms.index(design.market)].dense + design.market.dense_columns - 1
    left[own] = 0.0
    return left, float(effects[own])


def _read_block(
    design: Design,
    effects: FloatArray,
    bare: tuple[FloatArray, float] | None,
    variance: Callable[[RawRows], FloatArray],
    units: ConditionTable,
) -> ReadUnits:
    raw = design.rows(units)
    mean, as_parts = raw.times(effects), np.zeros(units.rows, dtype=np.bool_)
    told = _lowest(design, effects, units, mean)
    if bare is not None:
        as_parts = (raw.times(bare[0]) + bare[1] > mean) & ~sold_for_parts(units)
    found = ReadUnits(mean, variance(raw), raw.unseen, told, as_parts)
    differs = as_parts.copy()
    for rows, _ in told:
        differs[rows] = True
    changed = np.flatnonzero(differs)
    if len(changed):
        again = design.rows(found.table(units).take(changed))
        found.mean[changed] = again.times(effects)
        found.own[changed] = variance(again)
    return found


def _lowest(design: Design, effects: FloatArray, units: ConditionTable, mean: FloatArray) -> tuple[Told, ...]:
    """Return the readings that are lower than the unit as it is told; puts the lowest into ``mean``."""
    readings = design.faults.readings(units) if design.faults is not None else []
    if not readings:
        return ()
    rows = np.concatenate([each for each, _ in readings])
    number = np.repeat(np.arange(len(readings)), [len(each) for each, _ in readings])
    told = units.take(rows)
    for function in sorted({function for _, functions in readings for function in functions}):
        says = np.array([function in functions for _, functions in readings])
        told = told_untested(told, (function,), np.flatnonzero(says[number]))
    means = design.rows(told).times(effects)
    # The lowest of each row comes first; of equal ones, the first reading.
    order = np.lexsort((number, means, rows))
    best = order[np.unique(rows[order], return_index=True)[1]]
    mean[rows[best]] = means[best]
    chosen = [(rows[best[number[best] == each]], readings[each][1]) for each in np.unique(number[best])]
    return tuple((mine, functions) for mine, functions in chosen if functions)


def _joined(blocks: list[ReadUnits], design: Design) -> ReadUnits:
    depths = sum(term.unseen_depths for term in design.terms)
    starts = np.concatenate([[0], np.cumsum([len(block.mean) for block in blocks])]).astype(np.intp)
    told: dict[tuple[str, ...], list[NDArray[np.intp]]] = {}
    for start, block in zip(starts, blocks, strict=False):
        for rows, functions in block.told:
            told.setdefault(functions, []).append(rows + start)
    return ReadUnits(
        mean=_stacked((block.mean for block in blocks), np.empty(0)),
        own=_stacked((block.own for block in blocks), np.empty(0)),
        unseen=_stacked((block.unseen for block in blocks), np.empty((0, depths))),
        told=tuple((np.concatenate(rows), functions) for functions, rows in told.items()),
        as_parts=np.concatenate([np.empty(0, dtype=np.bool_), *(block.as_parts for block in blocks)]),
    )


def _stacked(arrays: Iterable[FloatArray], empty: FloatArray) -> FloatArray:
    return np.concatenate([empty, *arrays])
