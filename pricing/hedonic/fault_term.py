"""Faults: what a function's status does to the price.

Beside the effects of single statuses (``state_term``) there are two dense columns: *several*, which lets faults
beyond the heaviest count less (or more) than alone, and *faulty*, for a sale that was called faulty without
saying what. While a required function is dead or removed, whatever depends on it counts once, in that gate.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray

from pricing.hedonic.blocks import Block, BlockBuilder
from pricing.hedonic.counts import WordCounts
from pricing.hedonic.pieces import NOWHERE, Piece, Reader, Strip
from pricing.hedonic.state_term import ConstraintRow, StateTerm, counted_sales
from pricing.records.device_class import FAULT_STATUSES, DeviceClass
from pricing.records.sales_table import NOT_STATED, BoolArray, ConditionTable, FloatArray, TextColumn

SEVERAL_MEAN_LOG, SEVERAL_SD_LOG = 0.1, 0.15
FAULTY_MEAN_LOG, FAULTY_SD_LOG = -0.35, 0.25
_FAILING = ("dead", "removed")
# A gate in such a state is not told otherwise.
_STAYS = frozenset((*_FAILING, "not fitted"))
_MOST_READINGS = 600

Reading = tuple[tuple[int, str], ...]


@dataclass(frozen=True, eq=False)
class FaultTerm:
    """Columns: several, faulty, and the one-hot statuses.

    Attributes:
        states: The statuses of each function.
        requires: For each function the numbers of all functions that it hangs on, direct or not.
    """

    states: StateTerm
    requires: tuple[tuple[int, ...], ...]
    name: str = "faults"

    @property
    def dense_columns(self) -> int:
        """Number of dense columns."""
        return 2

    @property
    def hot_columns(self) -> int:
        """Number of one-hot columns."""
        return self.states.hot_columns

    @property
    def unseen_depths(self) -> int:
        """Depths at which a level may be unseen."""
        return 0

    @cached_property
    def _weights(self) -> FloatArray:
        """Size of each place for the column *several*: the prior mean, 0 for "not stated"."""
        sizes = np.zeros((len(self.states.things), self.states.width))
        sizes[:, :-1] = np.abs(self.states.mean_log)
        return np.append(sizes.ravel(), 0.0)

    @cached_property
    def _gates(self) -> tuple[int, ...]:
        """The functions that others hang on: where they are very many, those that most hang on."""
        hanging = Counter(number for required in self.requires for number in required)
        chosen: list[int] = []
        for gate, _ in sorted(hanging.items(), key=lambda item: (-item[1], item[0])):
            ways = sum(len(_FAILING) ** len(gates) for gates in _apart([*chosen, gate], self.requires))
            if ways <= _MOST_READINGS:
                chosen.append(gate)
        return tuple(sorted(chosen))

    @cached_property
    def _hangs_on(self) -> FloatArray:
        """1.0 where a function hangs on a gate, shape (functions, gates)."""
        hangs = [[float(gate in required) for gate in self._gates] for required in self.requires]
        return np.array(hangs).reshape(len(self.requires), len(self._gates))

    def piece(self, table: ConditionTable) -> Piece:
        """Return the columns, with what hangs on a failing function left out."""
        return self.reader(table)(slice(0, table.rows))

    def reader(self, table: ConditionTable, hot_at: int = 0) -> Reader:
        """Return what reads blocks of the table's rows; places are counted from ``hot_at``."""
        slots, things = self.states.slots(table, hot_at)
        fails = self._gates_in(table, _FAILING)
        removed = hot_at + things * self.states.width + FAULT_STATUSES.index("removed")
        weights = np.concatenate([np.zeros(hot_at), self._weights])
        sold_as = table.sold_as
        called = sold_as.levels.index("faulty") if sold_as is not None and "faulty" in sold_as.levels else None

        def read(part: slice) -> Piece:
            """Return the columns of some rows."""
            rows = part.stop - part.start
            places = slots.places(part, rows)
            failing = np.flatnonzero(fails[:, part].any(axis=0))
            if len(failing):
                # A product of numbers: numpy has no quick one of truth values.
                hangs = (self._hangs_on @ fails[:, part][:, failing].astype(np.float64) > 0)[things]
                kept = places[:, failing]
                kept[hangs & (kept != removed[:, None])] = NOWHERE
                places[:, failing] = kept
            sizes = weights.take(places, mode="wrap")
            heaviest = sizes.max(axis=0, initial=0.0)
            dense = np.zeros((rows, 2), order="F")
            np.subtract(sizes.sum(axis=0), heaviest, out=dense[:, 0])
            if called is not None and sold_as is not None:
                dense[:, 1] = (sold_as.codes[part] == called) & (heaviest == 0)
            return Piece(dense, places.T, np.empty((rows, 0)))

        return read

    def _gates_in(self, table: ConditionTable, words: Container[str]) -> BoolArray:
        """Return whether each gate is told by one of the words in each row, shape (gates, rows)."""
        found = np.zeros((len(self._gates), table.rows), dtype=np.bool_)
        for row, gate in enumerate(self._gates):
            column = table.faults.get(self.states.things[gate])
            if column is not None:
                known = np.array([*(word in words for word in column.levels), False])
                np.take(known, column.codes, out=found[row], mode="wrap")
        return found

    @cached_property
    def readings(self) -> tuple[Reading, ...]:
        """The ways to tell a unit, by what may be told of its gates; the first is to leave it as it is told.

        A gate that fails takes over what hangs on it. That must not make a unit dearer than it would be with the gate
        working or untested: whoever does not know whether it starts need not take less than for one that is dead. So a
        price is the highest over these readings; a gate that fails as told keeps its word. No fault then raises a
        price: of those that one more failing gate leaves, each was there without it, and is at least as high; under
        any other new fault each stays or falls. Gates that hang on each other are not told together, because the
        lower one would count nothing.
        """
        return tuple(
            tuple(zip(gates, failing, strict=True))
            for gates in _apart(self._gates, self.requires)
            for failing in product(_FAILING, repeat=len(gates))
        )

    def highest_failing(self, effects: FloatArray) -> float:
        """Return what all faults together count for at most when some gate fails, given the term's own effects.

        Sound when the effects keep ``sign_rows``: then no fault counts above 0, alone or as one of several.
        """
        hot = effects[self.dense_columns :]
        several = max(float(effects[0]), 0.0)
        found = [
            hot[place] + several * self._weights[place]
            for gate in self._gates
            for place in (gate * self.states.width + FAULT_STATUSES.index(word) for word in _FAILING)
        ]
        return float(max(found, default=-np.inf))

    def may_be_told(self, table: ConditionTable) -> BoolArray:
        """Return whether each reading may be told of each row, shape (readings, rows)."""
        stays = dict(zip(self._gates, self._gates_in(table, _STAYS), strict=True))
        may = np.ones((len(self.readings), table.rows), dtype=np.bool_)
        for row, reading in enumerate(self.readings):
            for gate, _ in reading:
                may[row] &= ~stays[gate]
        return may

    def named(self, reading: Reading) -> tuple[tuple[str, str], ...]:
        """Return a reading with the names of the gates."""
        return tuple((self.states.things[gate], word) for gate, word in reading)

    def tellings_of_one(self, words: Mapping[str, str | None]) -> list[dict[str, str | None]]:
        """Return the ways to tell one unit's statuses, in the order of ``readings``, without those that may not be."""
        things = self.states.things
        return [
            {**words, **{things[gate]: word for gate, word in reading}}
            for reading in self.readings
            if all(words.get(things[gate]) not in _STAYS for gate, _ in reading)
        ]

    def _failing_of_one(self, words: Mapping[str, str | None]) -> list[int]:
        return [gate for gate in self._gates if words.get(self.states.things[gate]) in _FAILING]

    def _places_of_one(self, words: Mapping[str, str | None]) -> list[int]:
        """Return one unit's one-hot columns that are 1, with what hangs on a failing function left out."""
        found = self.states.places_of_things(words)
        failing = set(self._failing_of_one(words))
        if failing:
            removed, width = FAULT_STATUSES.index("removed"), self.states.width
            for thing, required in enumerate(self.requires):
                if not failing.isdisjoint(required):
                    found[thing] = [place for place in found[thing] if place == thing * width + removed]
        return [place for places in found for place in places]

    def strip(self, words: Mapping[str, str | None], dense_at: int, hot_at: int) -> Strip:
        """Return the columns of one unit from its statuses; nobody has called it faulty."""
        places = self._places_of_one(words)
        total = heaviest = 0.0
        for size in map(self._sizes.__getitem__, places):
            total += size
            heaviest = max(heaviest, size)
        columns = [dense_at, *(hot_at + place for place in places)]
        values = [total - heaviest, *[1.0] * len(places)]
        return Strip(columns, values, never_sold=self.states.never_sold(places))

    @cached_property
    def _sizes(self) -> list[float]:
        return [float(weight) for weight in self._weights]

    def describe(self, builder: BlockBuilder, dense_at: int, hot_at: int) -> None:
        """Add the two dense columns with their priors, and the statuses."""
        fixed = builder.add_block(Block("faults: several", "fixed"))
        builder.offset[dense_at] = SEVERAL_MEAN_LOG
        builder.add_coefficient("several faults", fixed, [dense_at], [SEVERAL_SD_LOG])
        builder.offset[dense_at + 1] = FAULTY_MEAN_LOG
        builder.add_coefficient("faulty", fixed, [dense_at + 1], [FAULTY_SD_LOG])
        self.states.describe(builder, dense_at, hot_at)

    def sign_rows(self, dense_at: int, hot_at: int) -> list[ConstraintRow]:
        """Return rows c with c'beta >= 0.

        No status raises the price, alone or as one of several; untested lies between works and dead, also as
        one of several, and what nobody stated is no worse than dead. A fault that is the new heaviest pushes
        the old one into *several*: covered, because the old one weighs no more than the new.
        """
        rows = self.states.sign_rows(hot_at)
        rows.append({dense_at + 1: -1.0})
        dead, untested = FAULT_STATUSES.index("dead"), FAULT_STATUSES.index("untested")
        for thing in range(len(self.states.things)):
            first = thing * self.states.width
            for state in range(len(FAULT_STATUSES)):
                rows.append({hot_at + first + state: -1.0, dense_at: -float(self._weights[first + state])})
            for still in (untested, len(FAULT_STATUSES)) if self.states.tracked[thing] else (untested,):
                gap = float(self._weights[first + dead] - self._weights[first + still])
                pair = {hot_at + first + still: 1.0, hot_at + first + dead: -1.0}
                rows += [pair, pair | {dense_at: -gap}]
        return rows


def told(table: ConditionTable, words: Sequence[tuple[str, str]], rows: NDArray[np.intp]) -> ConditionTable:
    """Return the table with functions told to be in another status in the given rows; words: function and status."""
    faults = dict(table.faults)
    for function, word in words:
        column = faults.get(function) or TextColumn(np.full(table.rows, NOT_STATED, dtype=np.int32), ())
        codes = column.codes.copy()
        codes[rows] = len(column.levels)
        faults[function] = TextColumn(codes, (*column.levels, word))
    return replace(table, faults=faults)


def _apart(gates: Sequence[int], requires: Sequence[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Return all sets of gates of which none hangs on another, the empty one first."""
    found: list[tuple[int, ...]] = [()]
    for gate in gates:
        found += [
            (*others, gate)
            for others in found
            if not any(other in requires[gate] or gate in requires[other] for other in others)
        ]
    return found


def _all_required(device_class: DeviceClass) -> tuple[tuple[int, ...], ...]:
    numbers = {function.name: number for number, function in enumerate(device_class.functions)}
    closed: list[tuple[int, ...]] = []
    for function in device_class.functions:
        found: set[str] = set()
        waiting = list(function.requires)
        while waiting:
            name = waiting.pop()
            if name not in found and name != function.name:
                found.add(name)
                waiting += device_class.functions_by_name[name].requires
        closed.append(tuple(sorted(numbers[name] for name in found)))
    return tuple(closed)


def fault_term(device_class: DeviceClass, counts: Mapping[str, WordCounts]) -> FaultTerm | None:
    """Return the term for the class's functions with the sales' counts; None for a class without functions."""
    functions = device_class.functions
    if not functions:
        return None
    prior = device_class.fault_prior
    names = tuple(function.name for function in functions)
    priors = [[prior.weights[str(f.weight)][status] for status in FAULT_STATUSES] for f in functions]
    sales, tracked = counted_sales(names, FAULT_STATUSES, counts)
    labels = [[f.weight * len(FAULT_STATUSES) + number for number in range(len(FAULT_STATUSES))] for f in functions]
    states = StateTerm(
        kind="faults",
        things=names,
        states=FAULT_STATUSES,
        quiet=("untested",),
        mean_log=np.array([[each.mean_log for each in row] for row in priors]),
        sd_log=np.array([[each.sd_log for each in row] for row in priors]),
        labels=np.array(labels, dtype=np.int64),
        kins=tuple(function.kin for function in functions),
        own_share=prior.own_share,
        sales=sales,
        tracked=tracked,
        pooled=True,
    )
    return FaultTerm(states=states, requires=_all_required(device_class))
