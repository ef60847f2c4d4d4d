"""A bounded correction from boosted trees: what specifications do together that effects and interactions miss.

The trees see the specifications only: numbers as they are, choices and groups by the effect that the fit gave their
level (0 for one never seen), so names and order of levels do not matter. They never see faults, marks, locks, parts
or time: what a fault does has to be read from its effect. Numbers with a direction keep it (``monotonic_cst``).

They are kept as plain arrays: one row for each node of all trees (``growing`` makes them).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pricing.hedonic.design import Design
from pricing.hedonic.level_term import LevelTerm
from pricing.hedonic.number_term import NumberTerm
from pricing.hedonic.tree_tables import TreeNodes, TreeTables, tree_tables
from pricing.records.device_class import Attribute
from pricing.records.sales_table import ConditionTable, FloatArray

# Tables take some time to make, once for a model; few rows are quicker without.
_ROWS_FOR_TABLES = 2_000
_DIRECTIONS = {"raises": 1, "lowers": -1, "free": 0}


@dataclass(frozen=True, eq=False)
class TreeInputs:
    """What the trees see of a unit.

    Attributes:
        numbers: Names of number attributes, NaN where not stated.
        terms: Places in the design of the choices and groups.
        codes: For each of those the code of each level, shape (levels + 1,): its effect on the log of price; last, 0
            for a level never seen.
        directions: shape (numbers + terms,): 1, -1 or 0.
    """

    numbers: tuple[str, ...]
    terms: tuple[int, ...]
    codes: tuple[FloatArray, ...]
    directions: NDArray[np.int64]

    @property
    def width(self) -> int:
        """Number of columns that the trees see."""
        return len(self.numbers) + len(self.terms)

    def columns(self, design: Design, table: ConditionTable) -> FloatArray:
        """Return what the trees see, shape (rows, numbers + terms)."""
        found = [table.numbers.get(name, np.full(table.rows, np.nan)) for name in self.numbers]
        for number, codes in zip(self.terms, self.codes, strict=True):
            term = design.terms[number]
            if isinstance(term, LevelTerm):
                found.append(codes[term.numbers(table)])  # NOWHERE, -1, is the last code
        return np.column_stack(found) if found else np.empty((table.rows, 0))


def tree_inputs(design: Design, attributes: Mapping[str, Attribute], effects: FloatArray) -> TreeInputs:
    """Return what trees see, with levels coded by their effects.

    Args:
        design: The columns.
        attributes: Of the class; other terms are left out.
        effects: beta, shape (raw columns,); of a nested level, its parents' effects are added.
    """
    numbers, terms, directions = [], [], []
    for number, term in enumerate(design.terms):
        if isinstance(term, NumberTerm) and term.name in attributes:
            numbers.append(term.name)
            directions.append(_DIRECTIONS[term.effect])
        elif isinstance(term, LevelTerm) and term.name in attributes:
            terms.append(number)
    codes = _level_codes(design, terms, effects)
    directions += [0] * len(terms)
    return TreeInputs(
        tuple(numbers), tuple(terms), tuple(codes[number] for number in terms), np.array(directions, dtype=np.int64)
    )


def _level_codes(design: Design, terms: Sequence[int], effects: FloatArray) -> Mapping[int, FloatArray]:
    """Return the code of each level of some terms, parents first: a class may name them in any order."""
    own: dict[str, tuple[LevelTerm, FloatArray]] = {}
    codes: dict[int, FloatArray] = {}
    levelled = [(number, term) for number in terms if isinstance(term := design.terms[number], LevelTerm)]
    for number, term in sorted(levelled, key=lambda each: len(each[1].path)):
        hot = design.places[number].hot
        found = np.zeros(len(term.levels) + 1)
        found[int(term.reference) : -1] = effects[hot : hot + term.hot_columns]
        outer = own.get(term.path[-2]) if len(term.path) > 1 else None
        if outer is not None:
            parents = dict(zip(outer[0].levels, outer[1], strict=False))
            found[:-1] += [parents.get(level[:-1], 0.0) for level in term.levels]
        own[term.name] = (term, found)
        codes[number] = found
    return codes


@dataclass(frozen=True, eq=False)
class Trees:
    """Grown trees; of a node, ``left`` and ``right`` are its children, and a leaf is its own child.

    Attributes:
        inputs: What they see.
        roots: shape (trees,): each tree's first node.
        feature: shape (nodes,): the column that a node looks at, 0 for a leaf.
        threshold: shape (nodes,): a row goes left when its value is at most this.
        blank_left: shape (nodes,): whether a value that is not stated goes left.
        left, right: shape (nodes,).
        value: shape (nodes,): what a leaf adds to the log of price.
        base: What all rows get.
        depth: Steps from a root to its deepest leaf.
        low, high: The correction stays within what it was for the sales.
    """

    inputs: TreeInputs
    roots: NDArray[np.int64]
    feature: NDArray[np.int64]
    threshold: FloatArray
    blank_left: NDArray[np.bool_]
    left: NDArray[np.int64]
    right: NDArray[np.int64]
    value: FloatArray
    base: float
    depth: int
    low: float
    high: float

    def correction(self, design: Design, table: ConditionTable) -> FloatArray:
        """Return what the trees add to the log of price, before their weight; shape (rows,)."""
        columns = self.inputs.columns(design, table)
        found = self._walked(columns) if table.rows < _ROWS_FOR_TABLES else self._tables.sums(columns)
        return np.clip(self.base + found, self.low, self.high)

    @cached_property
    def _tables(self) -> TreeTables:
        nodes = TreeNodes(
            self.roots, self.feature, self.threshold, self.blank_left, self.left, self.right, self.value
        )
        return tree_tables(nodes, self.inputs.width)

    def _walked(self, columns: FloatArray) -> FloatArray:
        nodes = np.broadcast_to(self.roots, (len(columns), len(self.roots))).copy()
        rows = np.arange(len(columns))[:, None]
        for _ in range(self.depth):
            seen = columns[rows, self.feature[nodes]]
            goes_left = np.where(np.isnan(seen), self.blank_left[nodes], seen <= self.threshold[nodes])
            nodes = np.where(goes_left, self.left[nodes], self.right[nodes])
        # One row at a time and a batch must give the same sum, so it runs along the trees of each row.
        return np.asarray(np.add.accumulate(self.value[nodes], axis=1)[:, -1], dtype=np.float64)


def averaged_correction(
    trees: Sequence[Trees | None], weights: Sequence[float], design: Design, table: ConditionTable
) -> FloatArray:
    """Return the weighted corrections averaged over the members of a model, on the log of price, shape (rows,).

    Args:
        trees: Of each member; None: weight 0. Empty: main effects alone.
        weights: Of each member's correction.
        design: The columns of the model.
        table: The units.
    """
    total = np.zeros(table.rows)
    for member, weight in zip(trees, weights, strict=False):
        if member is not None:
            total += weight / len(trees) * member.correction(design, table)
    return total
