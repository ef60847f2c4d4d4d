"""Which coefficients share a variance, and how raw columns are made from coefficients.

The raw columns R of the design are what rows are written in (numbers, bends, one-hot levels). The model's
coefficients b live one step behind: raw effects are beta = beta0 + T b, where T lets many raw columns share
means (a fault's effect = mean of its weight and status + deviation of its kin + its own). T is the identity
for most columns. A block is a set of coefficients with one variance s2 / lambda.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from scipy import sparse

from pricing.records.sales_table import FloatArray, IntArray

BlockKind = Literal["free", "pooled", "fixed"]
UNPENALISED = -1
# An effect may spread at most 30 times as far as one price round its mean.
LEAST_LAMBDA = 1e-3


@dataclass(frozen=True)
class Block:
    """Coefficients with a common variance.

    Attributes:
        name: For messages and the model file.
        kind: free: variance by REML alone; pooled: REML with a prior worth ``prior_count`` observations that
            the variance is 1 (in the units that T gives); fixed: the variance is 1, whatever s2 is.
        prior_count: For pooled.
        least: Smallest lambda; above 0 it keeps more coefficients than sales from fitting every sale exactly,
            where the likelihood has no bound.
    """

    name: str
    kind: BlockKind = "free"
    prior_count: float = 0.0
    least: float = 0.0


@dataclass(frozen=True, eq=False)
class BlockTable:
    """Blocks of all coefficients, and the map to raw columns.

    Attributes:
        blocks: In order of their number.
        block_of: int32, shape (coefficients,): number of its block, -1 for no penalty.
        to_raw: T, sparse, shape (raw columns, coefficients).
        offset: beta0, shape (raw columns,): prior means on the log of price.
        lonely_block, lonely_scale: shape (raw columns,): a raw column that no sale had and that has a deviation
            of its own: its block (-1: none) and its scale; its variance is scale^2 * variance of the block.
        names: Name of each coefficient, for messages.
    """

    blocks: tuple[Block, ...]
    block_of: IntArray
    to_raw: sparse.csr_array
    offset: FloatArray
    lonely_block: IntArray
    lonely_scale: FloatArray
    names: tuple[str, ...]


@dataclass
class BlockBuilder:
    """Collects blocks and coefficients, raw column by raw column."""

    raw_columns: int
    blocks: list[Block] = field(default_factory=list)
    block_of: list[int] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    entries: list[tuple[int, int, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.offset = np.zeros(self.raw_columns)
        self.lonely_block = np.full(self.raw_columns, UNPENALISED, dtype=np.int32)
        self.lonely_scale = np.zeros(self.raw_columns)

    def add_block(self, block: Block) -> int:
        """Add a block and return its number."""
        self.blocks.append(block)
        return len(self.blocks) - 1

    def add_coefficient(self, name: str, block: int, raw: Sequence[int], scale: Sequence[float]) -> None:
        """Add one coefficient that enters the raw columns ``raw`` with the factors ``scale``."""
        column = len(self.names)
        self.names.append(name)
        self.block_of.append(block)
        self.entries += [(row, column, factor) for row, factor in zip(raw, scale, strict=True)]

    def build(self) -> BlockTable:
        """Return the finished table."""
        rows, columns, factors = zip(*self.entries, strict=True) if self.entries else ((), (), ())
        to_raw = sparse.csr_array((factors, (rows, columns)), shape=(self.raw_columns, len(self.names)))
        return BlockTable(
            blocks=tuple(self.blocks),
            block_of=np.array(self.block_of, dtype=np.int32),
            to_raw=to_raw,
            offset=self.offset,
            lonely_block=self.lonely_block,
            lonely_scale=self.lonely_scale,
            names=tuple(self.names),
        )
