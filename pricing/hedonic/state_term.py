"""Things that may be in one of several states: functions, surfaces, locks, parts.

Each (thing, state) has one raw one-hot column, and each thing one more for "not stated". A thing that no sale
mentioned is not tracked: the sales say nothing about it, so a quiet state of it (untested, not checked, not
stated) changes nothing, while a loud one (dead, cracked, locked) takes its prior.

Effect of a loud state = prior mean + deviation of its label (weight and status, kind of mark) + deviation of its
kin + its own. The first has the class file's mean and spread; the other two have spreads that sales update.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np
from numpy.typing import NDArray

from pricing.hedonic.blocks import Block, BlockBuilder
from pricing.hedonic.counts import WordCounts
from pricing.hedonic.pieces import NOWHERE, Piece, PlaceArray, Reader, Remembered, Slots, Strip
from pricing.records.sales_table import NOT_STATED, ConditionTable, FloatArray, TextColumn

SILENT_SCALE_LOG = 0.05
KIN_SHARE = 0.3
_POOLED_COUNT = 4.0
_MOST_KNOWN_LOOKUPS = 10_000
ConstraintRow = Mapping[int, float]


@dataclass(frozen=True, eq=False)
class StateTerm:
    """Columns of things and their states.

    Attributes:
        kind: faults, marks, locks or parts: the field of the table.
        things: Names.
        states: States with an effect.
        quiet: States that say nothing about a thing that is not tracked.
        mean_log, sd_log: shape (things, states): prior of each effect on the log of price.
        labels: shape (things, states): states of one label share a deviation of prior spread.
        kins: Kin of each thing; "" for none.
        own_share: Spread of own deviations as a share of the prior mean.
        sales: shape (things, states + 1): sales with each state, last: not stated.
        tracked: shape (things,): whether sales stated anything.
        pooled: Whether effects have label, kin and own deviations, or each its own prior only.
    """

    kind: str
    things: tuple[str, ...]
    states: tuple[str, ...]
    quiet: tuple[str, ...]
    mean_log: FloatArray
    sd_log: FloatArray
    labels: NDArray[np.int64]
    kins: tuple[str, ...]
    own_share: float
    sales: NDArray[np.int64]
    tracked: NDArray[np.bool_]
    pooled: bool

    @property
    def name(self) -> str:
        """Name of the term."""
        return self.kind

    @property
    def width(self) -> int:
        """One-hot columns of one thing."""
        return len(self.states) + 1

    @property
    def dense_columns(self) -> int:
        """Number of dense columns."""
        return 0

    @property
    def hot_columns(self) -> int:
        """Number of one-hot columns."""
        return len(self.things) * self.width

    @property
    def unseen_depths(self) -> int:
        """Depths at which a level may be unseen: none, every state has a column."""
        return 0

    @cached_property
    def _places_of_words(self) -> tuple[Mapping[str, int], ...]:
        """For each thing the place of each state that changes anything."""
        return tuple(
            {
                state: thing * self.width + number
                for number, state in enumerate(self.states)
                if tracked or state not in self.quiet
            }
            for thing, tracked in enumerate(self.tracked)
        )

    @cached_property
    def _silent(self) -> tuple[int, ...]:
        """For each thing the place of "not stated"."""
        return tuple(
            thing * self.width + len(self.states) if tracked else NOWHERE for thing, tracked in enumerate(self.tracked)
        )

    def piece(self, table: ConditionTable) -> Piece:
        """Return the one-hot places."""
        return self.reader(table)(slice(0, table.rows))

    def reader(self, table: ConditionTable, hot_at: int = 0) -> Reader:
        """Return what reads blocks of the table's rows; places are counted from ``hot_at``."""
        slots, _ = self.slots(table, hot_at)

        def read(part: slice) -> Piece:
            """Return the columns of some rows."""
            rows = part.stop - part.start
            empty = np.empty((rows, 0))
            return Piece(empty, slots.places(part, rows).T, empty)

        return read

    def slots(self, table: ConditionTable, hot_at: int = 0) -> tuple[Slots, NDArray[np.intp]]:
        """Return the slots of a table, and the number of each slot's thing: several, where marks are joined."""
        columns: Mapping[str, TextColumn] = getattr(table, self.kind)
        blank = np.broadcast_to(np.int32(NOT_STATED), table.rows)
        codes: list[NDArray[np.integer]] = []
        lookups: list[PlaceArray] = []
        things: list[int] = []
        for number, thing in enumerate(self.things):
            column = columns.get(thing)
            known = self._lookups(number, () if column is None else column.levels, hot_at)
            codes += [blank if column is None else column.codes] * len(known)
            lookups += known
            things += [number] * len(known)
        return Slots(tuple(codes), tuple(lookups)), np.array(things, dtype=np.intp)

    @cached_property
    def _known_lookups(self) -> dict[tuple[int, tuple[str, ...], int], tuple[PlaceArray, ...]]:
        """Lookups made before: units priced one by one use the same few words again and again."""
        return {}

    def _lookups(self, thing: int, levels: tuple[str, ...], hot_at: int) -> tuple[PlaceArray, ...]:
        """Return for each slot of a thing the places by code, for a column with these levels."""
        key = (thing, levels, hot_at)
        known = self._known_lookups.get(key)
        if known is None:
            places = [*(self._places_of(thing, word) for word in levels), (self._silent[thing],)]
            slots = [[each[depth] if depth < len(each) else NOWHERE for each in places]
                     for depth in range(max(1, *map(len, places)))]  # fmt: skip
            shifted = [[place if place < 0 else place + hot_at for place in slot] for slot in slots]
            known = tuple(np.array(slot, dtype=np.int32) for slot in shifted)
            if len(self._known_lookups) < _MOST_KNOWN_LOOKUPS:
                self._known_lookups[key] = known
        return known

    def _places_of(self, thing: int, word: str) -> Sequence[int]:
        """Return the places of a cell, upwards: "dent+scratch" is two marks, "covered" states nothing."""
        if word == "covered":
            return (self._silent[thing],)
        known = self._places_of_words[thing]
        return sorted({known[state] for state in word.split("+") if state in known})

    @cached_property
    def _places_by_word(self) -> tuple[Remembered[str | None, Sequence[int]], ...]:
        """For each thing the places of each cell; None: not stated."""
        return tuple(Remembered(partial(self._places_of_cell, thing)) for thing in range(len(self.things)))

    def _places_of_cell(self, thing: int, word: str | None) -> Sequence[int]:
        places = (self._silent[thing],) if word is None else self._places_of(thing, word)
        return tuple(place for place in places if place >= 0)

    def places_of_things(self, words: Mapping[str, str | None]) -> list[Sequence[int]]:
        """Return for each thing of one unit the one-hot columns that are 1, counted from the term's first one."""
        return [places[words.get(thing)] for thing, places in zip(self.things, self._places_by_word, strict=True)]

    def strip(self, words: Mapping[str, str | None], hot_at: int) -> Strip:
        """Return the columns of one unit from its cells."""
        places = [place for found in self.places_of_things(words) for place in found]
        return Strip([hot_at + place for place in places], [1.0] * len(places), never_sold=self.never_sold(places))

    def never_sold(self, places: Sequence[int]) -> list[int]:
        """Return those of the one-hot places that no sale had."""
        return [place for place in places if place in self._without_sale]

    @cached_property
    def _without_sale(self) -> frozenset[int]:
        return frozenset(np.flatnonzero(self.sales.ravel() == 0).tolist())

    def describe(self, builder: BlockBuilder, _dense_at: int, hot_at: int) -> None:
        """Add prior means, deviations of labels, kins and single effects, and "not stated"."""
        if self.pooled:
            self._describe_pooled(builder, hot_at)
        else:
            self._describe_single(builder, hot_at)
        if self.tracked.any():
            silent = builder.add_block(Block(f"{self.kind}: not stated", "pooled", 2.0))
            for thing in np.flatnonzero(self.tracked):
                raw = hot_at + int(thing) * self.width + len(self.states)
                if self.sales[thing, -1]:
                    name = f"{self.kind}:{self.things[thing]}: not stated"
                    builder.add_coefficient(name, silent, [raw], [SILENT_SCALE_LOG])
                else:
                    builder.lonely_block[raw], builder.lonely_scale[raw] = silent, SILENT_SCALE_LOG

    def _raw(self, hot_at: int, thing: int, state: int) -> int:
        return hot_at + thing * self.width + state

    def _describe_pooled(self, builder: BlockBuilder, hot_at: int) -> None:
        fixed = builder.add_block(Block(f"{self.kind}: prior", "fixed"))
        shape = self.mean_log.shape
        raw = np.array([[self._raw(hot_at, t, s) for s in range(shape[1])] for t in range(shape[0])])
        builder.offset[raw] = self.mean_log
        for label in np.unique(self.labels):
            chosen = self.labels == label
            builder.add_coefficient(f"{self.kind}: label {label}", fixed, raw[chosen].tolist(),
                                    self.sd_log[chosen].tolist())  # fmt: skip
        families = sorted({kin for kin in self.kins if kin})
        if families:
            kin_block = builder.add_block(Block(f"{self.kind}: kin", "pooled", _POOLED_COUNT))
            for kin in families:
                rows = [number for number, each in enumerate(self.kins) if each == kin]
                scale = KIN_SHARE * np.abs(self.mean_log[rows])
                builder.add_coefficient(f"{self.kind}: kin {kin}", kin_block, raw[rows].ravel().tolist(),
                                        scale.ravel().tolist())  # fmt: skip
        own = builder.add_block(Block(f"{self.kind}: own", "pooled", _POOLED_COUNT))
        for thing, state in np.ndindex(*shape):
            scale_own = self.own_share * abs(float(self.mean_log[thing, state]))
            if self.sales[thing, state]:
                name = f"{self.kind}:{self.things[thing]}={self.states[state]}"
                builder.add_coefficient(name, own, [int(raw[thing, state])], [scale_own])
            else:
                builder.lonely_block[raw[thing, state]] = own
                builder.lonely_scale[raw[thing, state]] = scale_own

    def _describe_single(self, builder: BlockBuilder, hot_at: int) -> None:
        fixed = builder.add_block(Block(f"{self.kind}: prior", "fixed"))
        for thing, state in np.ndindex(*self.mean_log.shape):
            raw = self._raw(hot_at, thing, state)
            name = f"{self.kind}:{self.things[thing]}={self.states[state]}"
            builder.offset[raw] = self.mean_log[thing, state]
            builder.add_coefficient(name, fixed, [raw], [float(self.sd_log[thing, state])])

    def sign_rows(self, hot_at: int) -> list[ConstraintRow]:
        """Return rows c with c'beta >= 0: no state raises the price."""
        return [
            {self._raw(hot_at, thing, state): -1.0}
            for thing, state in np.ndindex(*self.mean_log.shape)
        ]  # fmt: skip

    def order_rows(self, hot_at: int) -> list[ConstraintRow]:
        """Return rows c with c'beta >= 0: what nobody stated or checked is no worse than any loud state.

        Else a mark found on a surface that nobody had looked at could raise the price.
        """
        loud = [number for number, state in enumerate(self.states) if state not in self.quiet]
        silent = [*(number for number in range(len(self.states)) if number not in loud), len(self.states)]
        return [
            {self._raw(hot_at, int(thing), still): 1.0, self._raw(hot_at, int(thing), state): -1.0}
            for thing in np.flatnonzero(self.tracked)
            for still in silent
            for state in loud
        ]

    def state_at(self, place: int) -> tuple[str, str, int]:
        """Return thing, state ("not stated" for the last) and number of sales of a one-hot place."""
        thing, state = divmod(place, self.width)
        name = self.states[state] if state < len(self.states) else "not stated"
        return self.things[thing], name, int(self.sales[thing, state])


def counted_sales(
    things: tuple[str, ...], states: tuple[str, ...], columns: Mapping[str, WordCounts]
) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Return the sales of each (thing, state) with "not stated" last, and which things sales mention."""
    sales = np.zeros((len(things), len(states) + 1), dtype=np.int64)
    tracked = np.zeros(len(things), dtype=np.bool_)
    numbers = {state: number for number, state in enumerate(states)}
    for row, thing in enumerate(things):
        column = columns.get(thing)
        if column is None:
            continue
        tracked[row] = bool(column.words)
        sales[row, -1] = column.blanks
        for word, count in column.words.items():
            for state in word.split("+"):
                if state in numbers:
                    sales[row, numbers[state]] += count
                elif state == "covered":
                    sales[row, -1] += count
    return sales, tracked
