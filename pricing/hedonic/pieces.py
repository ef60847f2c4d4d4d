"""What a term gives for a set of rows: dense columns and one-hot places."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from pricing.records.sales_table import FloatArray, IntArray

PlaceArray = NDArray[np.int32]
Key = TypeVar("Key")
Value = TypeVar("Value")
NOWHERE = -1
_FEW_ROWS = 512
_FEW_CELLS = 8_192
_CALL_COST, _PAIR_COST, _PRODUCT_COST = 2e-6, 2e-9, 5e-11


@dataclass(frozen=True, eq=False)
class Piece:
    """The raw columns of one term for some rows.

    Attributes:
        dense: shape (rows, dense columns).
        places: shape (rows, slots): for each slot the one-hot column that is 1, counted from the term's first
            one-hot column; -1 for none. No row has the same place twice. Slots lie one after the other in memory.
        unseen: shape (rows, depths): for each depth 1.0 where the row has a level that no sale had.
    """

    dense: FloatArray
    places: PlaceArray
    unseen: FloatArray


# What a term makes of one table: from a block of its rows to their columns. What is the same for all rows, such as
# where each word of a column stands, is looked up once.
Reader = Callable[[slice], Piece]


@dataclass(frozen=True, eq=False)
class Strip:
    """The raw columns of one term for one row that differ from 0.

    Attributes:
        columns: Their numbers.
        values: What they hold.
        unseen: For each depth how far the row reaches beyond what sales had, as in a ``Piece``.
        sales: Number of sales of the row's level; None: the term has no levels.
        outside: How far the row's number lies outside that of the sales, in spans of it.
        never_sold: One-hot columns of states that no sale had, counted from the term's first one.
    """

    columns: Sequence[int]
    values: Sequence[float]
    unseen: Sequence[float] = ()
    sales: int | None = None
    outside: float = 0.0
    never_sold: Sequence[int] = ()


class Remembered(dict[Key, Value]):
    """What was made for a key before, asked for by ``[key]``: the same few words come again and again.

    Attributes:
        make: From a key to its value.
        most: Largest number of values that are kept.
    """

    def __init__(self, make: Callable[[Key], Value], most: int = 10_000) -> None:
        super().__init__()
        self.make, self.most = make, most

    def __missing__(self, key: Key) -> Value:
        made = self.make(key)
        if len(self) < self.most:
            self[key] = made
        return made


def nothing(rows: int) -> Piece:
    """Return a piece without columns."""
    return Piece(np.empty((rows, 0)), np.empty((rows, 0), dtype=np.int32), np.empty((rows, 0)))


@dataclass(frozen=True, eq=False)
class Slots:
    """Columns of codes, and the place that stands for each code.

    Attributes:
        codes: For each slot its codes, shape (rows,) each; -1 for not stated.
        lookups: For each slot the places by code; the last is that of -1.
    """

    codes: tuple[NDArray[np.integer], ...]
    lookups: tuple[PlaceArray, ...]

    def places(self, part: slice, rows: int) -> PlaceArray:
        """Return the places of a block of rows, shape (slots, rows)."""
        if rows == 1:  # a call for each slot would take longer than all else
            pairs = zip(self.codes, self.lookups, strict=True)
            return np.array([[lookup[codes[part.start]]] for codes, lookup in pairs], dtype=np.int32).reshape(-1, 1)
        found = np.empty((len(self.codes), rows), dtype=np.int32)
        for number, (codes, lookup) in enumerate(zip(self.codes, self.lookups, strict=True)):
            # Wrapped: -1 is the last.
            np.take(lookup, codes[part], out=found[number], mode="wrap")
        return found


@dataclass(frozen=True, eq=False)
class DenseRows:
    """Raw design rows with all columns densely, for few rows.

    Attributes:
        whole: shape (rows, columns).
    """

    whole: FloatArray

    @property
    def columns(self) -> int:
        """Number of raw columns."""
        return int(self.whole.shape[1])

    def times(self, coefficients: FloatArray) -> FloatArray:
        """Return R b for raw coefficients b of shape (columns,) or (columns, k)."""
        return np.asarray(self.whole @ coefficients, dtype=np.float64)

    def has_any(self, columns: NDArray[np.intp]) -> FloatArray:
        """Return 1.0 where a row has any of these one-hot columns (numbers of raw columns), else 0.0."""
        return np.asarray(self.whole[:, columns].any(axis=1), dtype=np.float64)

    def quadratic(self, matrix: FloatArray) -> FloatArray:
        """Return r'Mr of each row r, for a symmetric M of shape (columns, columns)."""
        used = np.flatnonzero(self.whole.any(axis=0))
        return _dense_quadratic(self.whole.take(used, axis=1), matrix[used[:, None], used])


@dataclass(frozen=True, eq=False)
class RawRows:
    """Raw design rows: dense columns first, then one-hot columns.

    Attributes:
        dense: shape (rows, dense columns).
        places: shape (rows, slots): one-hot columns that are 1, counted from the first one; -1 for none.
        hot_columns: Number of one-hot columns.
        unseen: shape (rows, unseen depths).
    """

    dense: FloatArray
    places: PlaceArray
    hot_columns: int
    unseen: FloatArray

    @cached_property
    def hot(self) -> sparse.csr_array:
        """The one-hot columns, sparse, shape (rows, one-hot columns)."""
        return one_hot(self.places, self.hot_columns)

    @property
    def columns(self) -> int:
        """Number of raw columns."""
        return int(self.dense.shape[1]) + self.hot_columns

    @cached_property
    def _few(self) -> DenseRows | None:
        """All columns densely, when they are few enough for that to be quicker than sparse ones; else None."""
        return DenseRows(self.to_dense()) if len(self.dense) * self.columns <= _FEW_CELLS else None

    def times(self, coefficients: FloatArray) -> FloatArray:
        """Return R b for raw coefficients b of shape (columns,) or (columns, k)."""
        if self._few is not None:
            return self._few.times(coefficients)
        split = self.dense.shape[1]
        hot = np.asarray(self.hot @ coefficients[split:])
        return np.asarray(self.dense @ coefficients[:split] + hot, dtype=np.float64)

    def has_any(self, columns: NDArray[np.intp]) -> FloatArray:
        """Return 1.0 where a row has any of these one-hot columns (numbers of raw columns), else 0.0."""
        if self._few is not None:
            return self._few.has_any(columns)
        wanted = np.zeros(self.columns)
        wanted[columns] = 1.0
        return np.asarray(np.minimum(self.hot @ wanted[self.dense.shape[1] :], 1.0), dtype=np.float64)

    def transposed_times(self, response: FloatArray) -> FloatArray:
        """Return R'y for y of shape (rows,)."""
        return np.concatenate([self.dense.T @ response, np.asarray(self.hot.T @ response)])

    def to_dense(self) -> FloatArray:
        """Return all columns densely, shape (rows, columns)."""
        split = self.dense.shape[1]
        whole = np.zeros((len(self.dense), self.columns))
        whole[:, :split] = self.dense
        rows, slots = np.nonzero(self.places >= 0)
        whole[rows, split + self.places[rows, slots]] = 1.0
        return whole

    def quadratic(self, matrix: FloatArray) -> FloatArray:
        """Return r'Mr of each row r, for a symmetric M of shape (columns, columns).

        Either over the pairs of places of each row, or as a dense product of the columns in use, whichever costs
        less: a single unit touches few columns, many units touch most of them, but each of them few.
        """
        if self._few is not None:
            return self._few.quadratic(matrix)
        split = self.dense.shape[1]
        counts = np.diff(self.hot.indptr)
        used = np.flatnonzero(np.bincount(self.hot.indices, minlength=self.hot_columns))
        by_pairs = 4 * _CALL_COST * int(counts.max(initial=0)) + _PAIR_COST * float(np.sum(counts * (counts + 1.0)))
        if _PRODUCT_COST * (split + len(used)) ** 2 * len(counts) <= by_pairs:
            kept = np.concatenate([np.arange(split), split + used])
            block = np.hstack([self.dense, self.hot[:, used].toarray()])
            return _dense_quadratic(block, matrix[np.ix_(kept, kept)])
        mixed = self.dense @ matrix[:split, :split] + 2 * np.asarray(self.hot @ matrix[split:, :split])
        crossed = np.einsum("ij,ij->i", mixed, self.dense)
        return np.asarray(crossed + _sums_over_pairs(self.hot, matrix[split:, split:]), dtype=np.float64)


def _dense_quadratic(rows: FloatArray, matrix: FloatArray) -> FloatArray:
    return np.asarray(np.einsum("ij,ij->i", rows @ matrix, rows), dtype=np.float64)


def _sums_over_pairs(hot: sparse.csr_array, matrix: FloatArray) -> FloatArray:
    """Return the sum of M over all pairs of one-hot columns of each row, shape (rows,)."""
    counts = np.diff(hot.indptr)
    # Rows with more places first: then those that have an n-th place are the first ones.
    order = np.argsort(-counts, kind="stable")
    rank = np.empty(len(counts), dtype=np.intp)
    rank[order] = np.arange(len(counts))
    depth = np.arange(len(hot.indices)) - np.repeat(hot.indptr[:-1], counts)
    layers = np.zeros((int(counts.max(initial=0)), len(counts)), dtype=np.intp)
    layers[depth, np.repeat(rank, counts)] = hot.indices
    found, flat, width = np.zeros(len(counts)), np.ascontiguousarray(matrix).ravel(), matrix.shape[1]
    deep_enough = np.searchsorted(-counts[order], -np.arange(len(layers)))
    for number, rows in enumerate(deep_enough):
        own = layers[number, :rows]
        pairs = layers[:number, :rows] * width
        pairs += own
        found[:rows] += 2 * flat.take(pairs).sum(axis=0) + flat.take(own * (width + 1))
    return found[rank]


def one_hot(places: PlaceArray, columns: int) -> sparse.csr_array:
    """Return the 0/1 matrix of shape (rows, columns) that the places describe; repeated places count once."""
    rows = len(places)
    there = places.T >= 0
    starts = np.zeros(rows + 1, dtype=np.int32)
    np.cumsum(there.sum(axis=0, dtype=np.int32), out=starts[1:])
    indices = places[there.T] if rows <= _FEW_ROWS else _row_by_row(places.T, there, starts)
    matrix = sparse.csr_array((np.ones(len(indices)), indices, starts), shape=(rows, columns))
    if not matrix.has_canonical_format:
        matrix.sum_duplicates()
        matrix.data[:] = 1.0
    return matrix


def _row_by_row(slots: PlaceArray, there: NDArray[np.bool_], starts: IntArray) -> PlaceArray:
    """Return the places that are there, those of each row together, from an array of shape (slots, rows)."""
    found = np.empty(int(starts[-1]), dtype=np.int32)
    free = starts[:-1].copy()
    for places, held in zip(slots, there, strict=True):
        rows = np.flatnonzero(held)
        target = free[rows]
        found[target] = places[rows]
        free[rows] = target + 1
    return found
