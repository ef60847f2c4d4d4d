"""How units are read, and what the fitted effects say of them, block by block.

Gates are told as failing where that is the higher price (see ``FaultTerm.readings``), and then a unit is read as sold
for parts where that is worth more: nobody need take less.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pricing.hedonic.design import Design
from pricing.hedonic.fault_term import FaultTerm, told
from pricing.hedonic.market_term import sold_for_parts
from pricing.hedonic.passes import in_turn
from pricing.hedonic.pieces import RawRows
from pricing.hedonic.state_term import StateTerm
from pricing.records.sales_table import NOT_STATED, BoolArray, ConditionTable, FloatArray, TextColumn

Told = tuple[NDArray[np.intp], tuple[tuple[str, str], ...]]


@dataclass(frozen=True, eq=False)
class ReadUnits:
    """What the fitted effects say of units.

    Attributes:
        mean: shape (rows,): r beta of the units as read.
        own: shape (rows,): what ``variance`` made of them.
        unseen: shape (rows, depths): how far each row reaches beyond the levels seen.
        told: Row numbers, and the functions told otherwise there, each with its status.
        as_parts: shape (rows,): read as sold for parts.
    """

    mean: FloatArray
    own: FloatArray
    unseen: FloatArray
    told: tuple[Told, ...]
    as_parts: BoolArray

    def table(self, units: ConditionTable) -> ConditionTable:
        """Return the units as read."""
        for rows, words in self.told:
            units = told(units, words, rows)
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
    otherwise = _highest(design, effects, units, raw, mean)
    if bare is not None:
        as_parts = (raw.times(bare[0]) + bare[1] > mean) & ~sold_for_parts(units)
    found = ReadUnits(mean, variance(raw), raw.unseen, otherwise, as_parts)
    differs = as_parts.copy()
    for rows, _ in otherwise:
        differs[rows] = True
    changed = np.flatnonzero(differs)
    if len(changed):
        again = design.rows(found.table(units).take(changed))
        found.mean[changed] = again.times(effects)
        found.own[changed] = variance(again)
    return found


def _highest(
    design: Design, effects: FloatArray, units: ConditionTable, raw: RawRows, mean: FloatArray
) -> tuple[Told, ...]:
    """Return the readings that are higher than the unit as it is told; puts the highest into ``mean``."""
    term = design.faults
    if term is None:
        return ()
    columns = design.term_columns(design.terms.index(term))
    mine = effects[columns]
    own = np.zeros(len(effects))
    own[columns] = mine
    low = np.flatnonzero(raw.times(own) < term.highest_failing(mine))
    if not len(low):
        return ()
    doubtful = units.take(low)
    may = term.may_be_told(doubtful)
    best, chosen = mean[low], np.zeros(len(low), dtype=np.intp)
    for number, reading in enumerate(term.readings[1:], start=1):
        rows = np.flatnonzero(may[number])
        if not len(rows):
            continue
        means = design.rows(told(doubtful.take(rows), term.named(reading), np.arange(len(rows)))).times(effects)
        higher = means > best[rows]
        best[rows[higher]], chosen[rows[higher]] = means[higher], number
    mean[low] = best
    return tuple(
        (low[chosen == number], term.named(term.readings[number])) for number in np.unique(chosen) if number
    )


def _joined(blocks: list[ReadUnits], design: Design) -> ReadUnits:
    depths = sum(term.unseen_depths for term in design.terms)
    starts = np.concatenate([[0], np.cumsum([len(block.mean) for block in blocks])]).astype(np.intp)
    otherwise: dict[tuple[tuple[str, str], ...], list[NDArray[np.intp]]] = {}
    for start, block in zip(starts, blocks, strict=False):
        for rows, words in block.told:
            otherwise.setdefault(words, []).append(rows + start)
    return ReadUnits(
        mean=_stacked((block.mean for block in blocks), np.empty(0)),
        own=_stacked((block.own for block in blocks), np.empty(0)),
        unseen=_stacked((block.unseen for block in blocks), np.empty((0, depths))),
        told=tuple((np.concatenate(rows), words) for words, rows in otherwise.items()),
        as_parts=np.concatenate([np.empty(0, dtype=np.bool_), *(block.as_parts for block in blocks)]),
    )


def _stacked(arrays: Iterable[FloatArray], empty: FloatArray) -> FloatArray:
    return np.concatenate([empty, *arrays])
