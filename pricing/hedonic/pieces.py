"""What a term gives for a set of rows: dense columns and one-hot places."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from pricing.records.sales_table import FloatArray

PlaceArray = NDArray[np.int64]
NOWHERE = -1


@dataclass(frozen=True, eq=False)
class Piece:
    """The raw columns of one term for some rows.

    Attributes:
        dense: shape (rows, dense columns).
        places: shape (rows, slots): for each slot the one-hot column that is 1, counted from the term's first
            one-hot column; -1 for none.
        unseen: shape (rows, depths): for each depth 1.0 where the row has a level that no sale had.
    """

    dense: FloatArray
    places: PlaceArray
    unseen: FloatArray


def nothing(rows: int) -> Piece:
    """Return a piece without columns."""
    return Piece(np.empty((rows, 0)), np.empty((rows, 0), dtype=np.int64), np.empty((rows, 0)))


@dataclass(frozen=True, eq=False)
class RawRows:
    """Raw design rows: dense columns first, then one-hot columns.

    Attributes:
        dense: shape (rows, dense columns).
        hot: sparse, shape (rows, one-hot columns).
        unseen: shape (rows, unseen depths).
    """

    dense: FloatArray
    hot: sparse.csr_array
    unseen: FloatArray

    @property
    def columns(self) -> int:
        """Number of raw columns."""
        return int(self.dense.shape[1] + self.hot.shape[1])

    def times(self, coefficients: FloatArray) -> FloatArray:
        """Return R b for raw coefficients b of shape (columns,) or (columns, k)."""
        split = self.dense.shape[1]
        hot = np.asarray(self.hot @ coefficients[split:])
        return np.asarray(self.dense @ coefficients[:split] + hot, dtype=np.float64)

    def transposed_times(self, response: FloatArray) -> FloatArray:
        """Return R'y for y of shape (rows,)."""
        return np.concatenate([self.dense.T @ response, np.asarray(self.hot.T @ response)])

    def to_dense(self) -> FloatArray:
        """Return all columns densely, shape (rows, columns)."""
        return np.hstack([self.dense, self.hot.toarray()])

    def quadratic(self, matrix: FloatArray) -> FloatArray:
        """Return r'Mr of each row r, for a symmetric M of shape (columns, columns).

        One-hot columns that no row uses are left out first: a single unit touches few of them.
        """
        split = self.dense.shape[1]
        used = np.unique(self.hot.indices)
        kept = np.concatenate([np.arange(split), split + used]).astype(np.intp)
        block = np.hstack([self.dense, self.hot[:, used].toarray()]) if len(used) else self.dense
        return np.asarray(np.einsum("ij,ij->i", block @ matrix[np.ix_(kept, kept)], block), dtype=np.float64)


def one_hot(places: PlaceArray, columns: int) -> sparse.csr_array:
    """Return the 0/1 matrix of shape (rows, columns) that the places describe; repeated places count once."""
    if places.shape[1] > 1:
        ordered = np.sort(places, axis=1)
        ordered[:, 1:][ordered[:, 1:] == ordered[:, :-1]] = NOWHERE
        places = ordered
    there = places >= 0
    indptr = np.concatenate([[0], np.cumsum(there.sum(axis=1))])
    matrix = sparse.csr_array(
        (np.ones(int(indptr[-1])), places[there], indptr), shape=(len(places), columns)
    )
    matrix.sort_indices()
    return matrix
