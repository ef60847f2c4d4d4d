"""The sum of many small trees for many rows, through tables instead of a walk down each tree.

The leaves of a tree are numbered from left to right, one bit each. A question that a row answers with "right" rules out
the leaves under its left branch; the leaf that the row ends in is the lowest one that no question ruled out. What all
questions of one tree about one column rule out depends only on where the value lies between the thresholds of that
column. So for each tree and column a table holds, for each such interval, the leaves that are left, and a row needs
one look-up for each column instead of a walk.

Source: Lucchese et al. (2015), QuickScorer, SIGIR (from memory). The lowest bit is found by multiplication with a
de Bruijn sequence (common practice, from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pricing.records.sales_table import BoolArray, FloatArray

MOST_LEAVES = 32
_ALL = (1 << MOST_LEAVES) - 1
_DE_BRUIJN = np.uint32(0x077CB531)
_SHIFT = np.uint32(27)
_ROWS_AT_ONCE = 16_384

Masks = NDArray[np.uint32]


@dataclass(frozen=True, eq=False)
class TreeNodes:
    """Trees as arrays; of a node, ``left`` and ``right`` are its children, and a leaf is its own child.

    Attributes:
        roots: shape (trees,): each tree's first node.
        feature: shape (nodes,): the column that a node looks at.
        threshold: shape (nodes,): a row goes left when its value is at most this.
        blank_left: shape (nodes,): whether a value that is not stated (NaN) goes left.
        left, right: shape (nodes,).
        value: shape (nodes,): what a leaf adds.
    """

    roots: NDArray[np.int64]
    feature: NDArray[np.int64]
    threshold: FloatArray
    blank_left: BoolArray
    left: NDArray[np.int64]
    right: NDArray[np.int64]
    value: FloatArray

    def leaves_under(self, node: int) -> Iterator[int]:
        """Yield the leaves under a node, from left to right."""
        if self.left[node] == node:
            yield node
        else:
            yield from self.leaves_under(int(self.left[node]))
            yield from self.leaves_under(int(self.right[node]))

    def questions_under(self, node: int) -> Iterator[int]:
        """Yield the nodes under a node that are no leaves."""
        if self.left[node] != node:
            yield node
            yield from self.questions_under(int(self.left[node]))
            yield from self.questions_under(int(self.right[node]))


@dataclass(frozen=True, eq=False)
class TreeTables:
    """The tables of all trees.

    Attributes:
        edges: For each column the thresholds of all trees, ascending.
        masks: For each tree the columns that it looks at, each with the leaves left, by interval; last: not stated.
        values: shape (trees, 32): what each leaf adds, in the order of the de Bruijn sequence.
    """

    edges: tuple[FloatArray, ...]
    masks: tuple[tuple[tuple[int, Masks], ...], ...]
    values: FloatArray

    def sums(self, columns: FloatArray) -> FloatArray:
        """Return what all trees together add to each row; trees are added in their order, whatever the rows.

        Args:
            columns: shape (rows, columns), NaN for not stated.
        """
        found = np.zeros(len(columns))
        for start in range(0, len(columns), _ROWS_AT_ONCE):
            part = slice(start, start + _ROWS_AT_ONCE)
            intervals = [self._intervals(number, columns[part, number]) for number in range(len(self.edges))]
            self._add(intervals, found[part])
        return found

    def _intervals(self, column: int, values: FloatArray) -> NDArray[np.intp]:
        edges = self.edges[column]
        # NaN sorts behind everything, and so does infinity, which is stated.
        return np.where(np.isnan(values), len(edges) + 1, np.searchsorted(edges, values))

    def _add(self, intervals: list[NDArray[np.intp]], found: FloatArray) -> None:
        for masks, values in zip(self.masks, self.values, strict=True):
            left = np.full(len(found), _ALL, dtype=np.uint32)
            for column, mask in masks:
                left &= mask.take(intervals[column], mode="clip")
            left &= ~left + np.uint32(1)
            found += values.take((left * _DE_BRUIJN) >> _SHIFT, mode="clip")


def tree_tables(nodes: TreeNodes, columns: int) -> TreeTables:
    """Return the tables of trees.

    Args:
        nodes: The trees.
        columns: Number of columns that rows have.

    Raises:
        ValueError: A tree has more than 32 leaves.
    """
    asks = nodes.left != np.arange(len(nodes.left))
    edges = tuple(np.unique(nodes.threshold[asks & (nodes.feature == column)]) for column in range(columns))
    masks, values = [], np.zeros((len(nodes.roots), MOST_LEAVES))
    order = [((1 << leaf) * int(_DE_BRUIJN) & _ALL) >> int(_SHIFT) for leaf in range(MOST_LEAVES)]
    for tree, root in enumerate(nodes.roots):
        leaves = list(nodes.leaves_under(int(root)))
        if len(leaves) > MOST_LEAVES:
            raise ValueError(f"a tree of {len(leaves)} leaves; at most {MOST_LEAVES} fit")
        values[tree, order[: len(leaves)]] = nodes.value[leaves]
        masks.append(_masks(nodes, int(root), {leaf: bit for bit, leaf in enumerate(leaves)}, edges))
    return TreeTables(edges, tuple(masks), values)


def _masks(
    nodes: TreeNodes, root: int, bits: dict[int, int], edges: tuple[FloatArray, ...]
) -> tuple[tuple[int, Masks], ...]:
    found: dict[int, Masks] = {}
    for node in nodes.questions_under(root):
        column = int(nodes.feature[node])
        mask = found.setdefault(column, np.full(len(edges[column]) + 2, _ALL, dtype=np.uint32))
        ruled_out = sum(1 << bits[leaf] for leaf in nodes.leaves_under(int(nodes.left[node])))
        rest = np.uint32(_ALL & ~ruled_out)
        first = int(np.searchsorted(edges[column], nodes.threshold[node])) + 1
        mask[first:-1] &= rest
        if not nodes.blank_left[node]:
            mask[-1] &= rest
    return tuple(found.items())
