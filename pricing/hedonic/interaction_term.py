"""Interactions: what two specifications do together that they do not do apart.

Three kinds, each shrunken towards nothing: products of two numbers (a variance for each product), slopes of all
numbers within the levels of a choice or group (one variance for each of those), and pairs of choices (an effect of
each pair of levels: a ``LevelTerm`` with two columns as its path). A number with a direction takes no part: its
effect has to keep its sign whatever the others are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from pricing.hedonic.blocks import LEAST_LAMBDA, Block, BlockBuilder
from pricing.hedonic.level_term import LevelTerm
from pricing.hedonic.number_term import NumberTerm
from pricing.hedonic.pieces import NOWHERE, Piece
from pricing.records.sales_table import ConditionTable, FloatArray

MOST_NUMBERS = 10
_SAME = 1e-9


def straight(number: NumberTerm, table: ConditionTable) -> FloatArray:
    """Return a number in standardised units, held within the sales' range, 0 where not stated; shape (rows,)."""
    values = table.numbers.get(number.name)
    if values is None:
        return np.zeros(table.rows)
    low, high = number.standardised(np.array([number.low, number.high]))
    found = number.standardised(values)
    return np.where(np.isfinite(found), np.clip(found, low, high), 0.0)


@dataclass(frozen=True, eq=False)
class ProductTerm:
    """One dense column for each product of two numbers.

    Attributes:
        numbers: The numbers, as terms of the design.
        pairs: shape (products, 2): which two.
        centres, scales: shape (products,): mean and standard deviation of the product over the sales.
    """

    numbers: tuple[NumberTerm, ...]
    pairs: tuple[tuple[int, int], ...]
    centres: FloatArray
    scales: FloatArray
    name: str = "products"

    @property
    def dense_columns(self) -> int:
        """Number of dense columns."""
        return len(self.pairs)

    @property
    def hot_columns(self) -> int:
        """Number of one-hot columns."""
        return 0

    @property
    def unseen_depths(self) -> int:
        """Depths at which a level may be unseen."""
        return 0

    def piece(self, table: ConditionTable) -> Piece:
        """Return the products, centred and scaled."""
        dense = (_products(self.numbers, self.pairs, table) - self.centres) / self.scales
        return Piece(dense, np.empty((table.rows, 0), dtype=np.int64), np.empty((table.rows, 0)))

    def describe(self, builder: BlockBuilder, dense_at: int, _hot_at: int) -> None:
        """Add one coefficient with a variance of its own for each product."""
        for column, (left, right) in enumerate(self.pairs):
            name = f"{self.numbers[left].name} × {self.numbers[right].name}"
            block = builder.add_block(Block(name, least=LEAST_LAMBDA))
            builder.add_coefficient(name, block, [dense_at + column], [1.0])


@dataclass(frozen=True, eq=False)
class SlopeTerm:
    """For each level a slope of each number: dense columns, number by number.

    Attributes:
        levels: The choice or group.
        numbers: The numbers.
    """

    levels: LevelTerm
    numbers: tuple[NumberTerm, ...]

    @property
    def name(self) -> str:
        """Name of the term."""
        return f"{self.levels.name} slopes"

    @property
    def dense_columns(self) -> int:
        """Number of dense columns."""
        return len(self.levels.levels) * len(self.numbers)

    @property
    def hot_columns(self) -> int:
        """Number of one-hot columns."""
        return 0

    @property
    def unseen_depths(self) -> int:
        """Depths at which a level may be unseen."""
        return 1

    def piece(self, table: ConditionTable) -> Piece:
        """Return the numbers at their level's place; of an unseen level, how far its slopes may reach."""
        places = self.levels.numbers(table)
        known = np.flatnonzero(places != NOWHERE)
        width = len(self.levels.levels)
        dense = np.zeros((table.rows, self.dense_columns))
        reach = np.zeros(table.rows)
        for number, term in enumerate(self.numbers):
            value = straight(term, table)
            dense[known, number * width + places[known]] = value[known]
            reach += value**2
        reach[known] = 0.0
        return Piece(dense, np.empty((table.rows, 0), dtype=np.int64), np.sqrt(reach)[:, None])

    def describe(self, builder: BlockBuilder, dense_at: int, _hot_at: int) -> None:
        """Add the slopes, of one variance."""
        block = builder.add_block(Block(self.name, least=LEAST_LAMBDA))
        width = len(self.levels.levels)
        for column in range(self.dense_columns):
            number, level = divmod(column, width)
            label = "/".join(word or "not stated" for word in self.levels.levels[level])
            builder.add_coefficient(f"{self.numbers[number].name} of {label}", block, [dense_at + column], [1.0])


def _products(
    numbers: Sequence[NumberTerm], pairs: Sequence[tuple[int, int]], table: ConditionTable
) -> FloatArray:
    columns = [straight(number, table) for number in numbers]
    return np.column_stack([columns[left] * columns[right] for left, right in pairs])


def product_term(numbers: Sequence[NumberTerm], table: ConditionTable) -> ProductTerm | None:
    """Return the products of the first ten free numbers learnt from sales, None when there are none.

    Args:
        numbers: Terms of the design.
        table: The sales.
    """
    free = free_numbers(numbers)
    pairs = tuple(combinations(range(len(free)), 2))
    if not pairs:
        return None
    columns = _products(free, pairs, table)
    centres, scales = columns.mean(axis=0), columns.std(axis=0)
    kept = np.flatnonzero(scales > _SAME)
    chosen = tuple(pairs[number] for number in kept)
    return ProductTerm(free, chosen, centres[kept], scales[kept]) if chosen else None


def free_numbers(numbers: Sequence[NumberTerm]) -> tuple[NumberTerm, ...]:
    """Return the numbers that may take part: at most ten, none with a direction."""
    return tuple(number for number in numbers if number.effect == "free")[:MOST_NUMBERS]
