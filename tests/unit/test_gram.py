from __future__ import annotations

from functools import reduce

import numpy as np
import pytest

from pricing.hedonic.design import CHUNK_ROWS, learn_design
from pricing.hedonic.gram import RawMoments, block_moments, coefficient_moments, sales_moments
from pricing.hedonic.summary import summarise
from pricing.records.sales_table import SalesTable
from tests.builders import small_class
from tests.market import small_sales


@pytest.fixture(scope="module")
def weights(sales: SalesTable) -> np.ndarray:
    return np.random.default_rng(0).uniform(0.2, 3.0, sales.rows)


def assert_same_sums(found: RawMoments, dense: np.ndarray, response: np.ndarray, weights: np.ndarray) -> None:
    assert found.rtr == pytest.approx(dense.T @ (weights[:, None] * dense), rel=1e-10, abs=1e-10)
    assert found.rty == pytest.approx(dense.T @ (weights * response), rel=1e-10, abs=1e-10)
    assert found.yty == pytest.approx(float(response @ (weights * response)))
    assert found.log_weights == pytest.approx(float(np.log(weights).sum()))
    assert found.rows == len(response)


@pytest.mark.parametrize("size", [1, 37, 10_000])
def test_sums_over_blocks_of_any_size_are_the_dense_cross_products(
    sales: SalesTable, weights: np.ndarray, size: int
) -> None:
    design, response = learn_design(summarise(sales, small_class()), small_class()), np.log(sales.price)
    blocks = [
        block_moments(raw, response[part], weights[part])
        for part, raw in design.chunks(sales.condition, sales.asked, size)
    ]
    dense = design.rows(sales.condition, sales.asked).to_dense()
    assert_same_sums(reduce(RawMoments.plus, blocks), dense, response, weights)


def test_more_sales_than_one_block_holds_are_all_counted() -> None:
    many = small_sales(CHUNK_ROWS + 300, seed=4)
    design, response = learn_design(summarise(many, small_class()), small_class()), np.log(many.price)
    dense = design.rows(many.condition, many.asked).to_dense()
    assert_same_sums(sales_moments(design, many, response), dense, response, np.ones(many.rows))


def test_cross_products_of_coefficients_are_those_of_their_own_columns(
    sales: SalesTable, weights: np.ndarray
) -> None:
    design, response = learn_design(summarise(sales, small_class()), small_class()), np.log(sales.price)
    table = design.block_table()
    raw = design.rows(sales.condition, sales.asked).to_dense()
    columns, rest = raw @ table.to_raw.toarray(), response - raw @ table.offset
    found = coefficient_moments(sales_moments(design, sales, response, weights), table)
    assert found.xtx == pytest.approx(columns.T @ (weights[:, None] * columns), rel=1e-9, abs=1e-9)
    assert found.xty == pytest.approx(columns.T @ (weights * rest), rel=1e-9, abs=1e-9)
    assert found.yty == pytest.approx(float(rest @ (weights * rest)))


def test_no_rows_cannot_be_added_up(sales: SalesTable) -> None:
    design = learn_design(summarise(sales, small_class()), small_class())
    with pytest.raises(ValueError, match="no rows"):
        sales_moments(design, sales.take(np.empty(0, dtype=np.intp)), np.empty(0))
