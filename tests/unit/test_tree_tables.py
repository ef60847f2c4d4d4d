from __future__ import annotations

import numpy as np
import pytest

from pricing.hedonic.tree_tables import MOST_LEAVES, TreeNodes, tree_tables

COLUMNS = 4
THRESHOLDS = np.array([-1.5, -0.3, 0.0, 0.4, 2.0])


def grown(leaves: int, trees: int, seed: int = 0) -> TreeNodes:
    """Return trees that split a leaf drawn by chance until there are enough."""
    rng = np.random.default_rng(seed)
    roots, feature, threshold, blank, left, right, value = [], [], [], [], [], [], []

    def add_leaf() -> int:
        number = len(left)
        feature.append(0)
        threshold.append(0.0)
        blank.append(False)
        left.append(number)
        right.append(number)
        value.append(rng.normal())
        return number

    for _ in range(trees):
        roots.append(add_leaf())
        open_leaves = [roots[-1]]
        while len(open_leaves) < leaves:
            node = open_leaves.pop(int(rng.integers(len(open_leaves))))
            feature[node], threshold[node] = int(rng.integers(COLUMNS)), float(rng.choice(THRESHOLDS))
            blank[node] = bool(rng.integers(2))
            left[node], right[node] = add_leaf(), add_leaf()
            open_leaves += [left[node], right[node]]
    return TreeNodes(*(np.array(each) for each in (roots, feature, threshold, blank, left, right, value)))


def rows_of(count: int) -> np.ndarray:
    rng = np.random.default_rng(1)
    rows = rng.normal(size=(count, COLUMNS))
    rows = np.where(rng.random(rows.shape) < 0.3, rng.choice(THRESHOLDS, rows.shape), rows)
    rows[rng.random(rows.shape) < 0.15] = np.nan
    rows[0], rows[1] = np.inf, -np.inf
    return rows


def walked(nodes: TreeNodes, row: np.ndarray) -> float:
    total = 0.0
    for root in nodes.roots:
        node = int(root)
        while nodes.left[node] != node:
            seen = row[nodes.feature[node]]
            goes_left = nodes.blank_left[node] if np.isnan(seen) else seen <= nodes.threshold[node]
            node = int(nodes.left[node] if goes_left else nodes.right[node])
        total += float(nodes.value[node])
    return total


@pytest.mark.parametrize("leaves", [1, 2, 7, 31, MOST_LEAVES])
def test_sums_are_those_of_a_walk_down_each_tree_to_the_last_bit(leaves: int) -> None:
    nodes, rows = grown(leaves, trees=9), rows_of(300)
    found = tree_tables(nodes, COLUMNS).sums(rows)
    assert found.tolist() == [walked(nodes, row) for row in rows]


def test_a_row_alone_and_among_many_has_the_same_sum() -> None:
    tables, rows = tree_tables(grown(31, trees=5), COLUMNS), rows_of(20_000)
    together = tables.sums(rows)
    for row in (0, 1, 2, 16_383, 16_384, 19_999):
        assert tables.sums(rows[row : row + 1])[0] == together[row]


def test_no_trees_and_no_rows_add_nothing() -> None:
    assert tree_tables(grown(3, trees=0), COLUMNS).sums(rows_of(3)).tolist() == [0.0] * 3
    assert len(tree_tables(grown(3, trees=2), COLUMNS).sums(rows_of(3)[:0])) == 0


def test_a_tree_with_too_many_leaves_is_refused() -> None:
    with pytest.raises(ValueError, match="33 leaves"):
        tree_tables(grown(MOST_LEAVES + 1, trees=1), COLUMNS)
