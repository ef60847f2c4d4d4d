from __future__ import annotations

import numpy as np
import pytest

from pricing.hedonic import pieces
from pricing.hedonic.pieces import RawRows, Slots, nothing, one_hot


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


def many_rows(rows: int, slots: int = 6, columns: int = 40) -> RawRows:
    """Return rows with at most one place in each slot, each slot with columns of its own."""
    rng = np.random.default_rng(3)
    width = columns // slots
    places = np.stack([slot * width + rng.integers(0, width, rows) for slot in range(slots)])
    places[rng.random(places.shape) < 0.4] = -1
    return RawRows(rng.normal(size=(rows, 3)), places.astype(np.int32).T, columns, np.zeros((rows, 0)))


@pytest.mark.parametrize("rows", [1, 100, 300, 3000])
def test_few_rows_and_many_have_the_numbers_of_the_dense_matrix(rows: int) -> None:
    raw, rng = many_rows(rows), np.random.default_rng(4)
    dense, root = raw.to_dense(), rng.normal(size=(raw.columns, raw.columns))
    assert np.array_equal(dense[:, 3:], raw.hot.toarray())
    assert raw.hot.has_canonical_format
    effects = rng.normal(size=(raw.columns, 2))
    assert raw.times(effects) == pytest.approx(dense @ effects, rel=1e-12, abs=1e-12)
    expected = np.einsum("ij,jk,ik->i", dense, root @ root.T, dense, optimize=True)
    assert raw.quadratic(root @ root.T) == pytest.approx(expected, rel=1e-12)
    wanted = np.array([3, 9, 17])
    assert np.array_equal(raw.has_any(wanted), dense[:, wanted].any(axis=1).astype(float))


def test_pairs_of_places_are_chosen_where_rows_touch_few_of_many_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    raw = many_rows(2000, slots=4, columns=1200)
    expected = np.einsum("ij,ij->i", raw.to_dense() @ np.diag(np.arange(1203.0)), raw.to_dense())

    def never(rows: np.ndarray, matrix: np.ndarray) -> np.ndarray:
        raise AssertionError(f"a dense product of {rows.shape} by {matrix.shape}")

    monkeypatch.setattr(pieces, "_dense_quadratic", never)
    assert raw.quadratic(np.diag(np.arange(1203.0))) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("rows", [1, 2, 50])
def test_slots_look_each_code_up_and_the_blank_one_last(rows: int) -> None:
    codes = np.resize(np.array([-1, 0, 1], dtype=np.int32), 60)
    lookups = (np.array([4, 5, 6], dtype=np.int32), np.array([7, -1, 8], dtype=np.int32))
    found = Slots((codes, codes), lookups).places(slice(2, 2 + rows), rows)
    assert found.tolist() == [[lookup[code] for code in codes[2 : 2 + rows]] for lookup in lookups]
