from __future__ import annotations

import numpy as np
import pytest

from pricing.hedonic.pieces import RawRows, nothing, one_hot


@pytest.fixture
def raw() -> RawRows:
    rng = np.random.default_rng(0)
    places = np.array([[0, 4], [2, -1], [-1, -1], [4, 0]])
    return RawRows(rng.normal(size=(4, 3)), places, 6, np.zeros((4, 0)))


def test_places_become_ones_and_minus_one_becomes_nothing() -> None:
    assert one_hot(np.array([[1, -1], [0, 2]]), 3).toarray().tolist() == [[0, 1, 0], [1, 0, 1]]


def test_a_repeated_place_counts_once() -> None:
    assert one_hot(np.array([[2, 0, 2]]), 3).toarray().tolist() == [[1, 0, 1]]


def test_nothing_has_rows_but_no_columns() -> None:
    piece = nothing(3)
    assert (piece.dense.shape, piece.places.shape, piece.unseen.shape) == ((3, 0), (3, 0), (3, 0))


def test_products_equal_those_of_the_dense_matrix(raw: RawRows) -> None:
    dense, rng = raw.to_dense(), np.random.default_rng(1)
    effects, response = rng.normal(size=raw.columns), rng.normal(size=4)
    assert raw.times(effects) == pytest.approx(dense @ effects)
    assert raw.transposed_times(response) == pytest.approx(dense.T @ response)


def test_the_quadratic_form_equals_that_of_the_dense_matrix(raw: RawRows) -> None:
    root = np.random.default_rng(2).normal(size=(raw.columns, raw.columns))
    matrix, dense = root @ root.T, raw.to_dense()
    assert raw.quadratic(matrix) == pytest.approx(np.diag(dense @ matrix @ dense.T))


def test_the_quadratic_form_works_without_any_one_hot_column() -> None:
    dense = np.array([[1.0, 2.0]])
    raw = RawRows(dense, np.empty((1, 0), dtype=np.int32), 5, np.zeros((1, 0)))
    assert raw.quadratic(np.eye(7)) == pytest.approx([5.0])
