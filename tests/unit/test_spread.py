from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pricing.hedonic.design import Design, learn_design
from pricing.hedonic.folds import MANY_FOLDS, fold_numbers
from pricing.hedonic.spread import BOUND_LOG, Spread, even_spread, fit_spread, spread_basis
from pricing.hedonic.summary import summarise
from pricing.records.sales_table import SalesTable
from tests.builders import small_class
from tests.market import BRANDS, small_sales, with_condition, words


def fitted(
    sales: SalesTable, residuals: np.ndarray, leverage: np.ndarray | None = None
) -> tuple[Design, Spread, np.ndarray]:
    design = learn_design(summarise(sales, small_class()), small_class())
    basis = spread_basis(design, sales, fold_numbers(sales, MANY_FOLDS, 0))
    return design, *fit_spread(basis, design, residuals, np.zeros(sales.rows) if leverage is None else leverage)


def test_an_even_spread_is_1_for_every_unit(sales: SalesTable) -> None:
    raw = learn_design(summarise(sales, small_class()), small_class()).rows(sales.condition)
    assert even_spread().shares(raw).tolist() == [1.0] * sales.rows


def test_a_brand_with_larger_errors_has_a_larger_share() -> None:
    sales = small_sales(1500, seed=3)
    brand = sales.condition.texts["brand"]
    noisy = brand.codes == brand.levels.index("Tessa")
    residuals = np.random.default_rng(0).normal(size=1500) * np.where(noisy, 0.3, 0.1)
    design, spread, shares = fitted(sales, residuals)
    for found in (spread.shares(design.rows(sales.condition, sales.asked)), shares):
        # Errors nine times as large in square; shrinkage and the floor of 0.05 s2 take some of it off.
        assert 4.0 < np.mean(found[noisy]) / np.mean(found[~noisy]) < 10.0


def test_shares_without_a_sale_are_on_average_those_with_it() -> None:
    sales = small_sales(1500, seed=3)
    residuals = np.random.default_rng(0).normal(size=1500) * (1 + sales.condition.texts["brand"].codes)
    design, spread, shares = fitted(sales, residuals)
    own = spread.shares(design.rows(sales.condition, sales.asked))
    assert np.polyfit(np.log(own), np.log(shares), 1) == pytest.approx([1.0, 0.0], abs=0.02)


def test_an_error_made_small_by_the_sales_own_pull_counts_as_it_would_without_it(sales: SalesTable) -> None:
    rng = np.random.default_rng(2)
    residuals, leverage = rng.normal(size=sales.rows), rng.uniform(0.0, 0.9, sales.rows)
    first = fitted(sales, residuals, leverage)[2]
    assert first == pytest.approx(fitted(sales, residuals / np.sqrt(1 - leverage))[2], rel=1e-9)
    assert first != pytest.approx(fitted(sales, residuals)[2], rel=1e-3)


def test_a_unit_with_a_fault_may_have_a_larger_share() -> None:
    sales = small_sales(1500, seed=3)
    faulty = np.zeros(1500, dtype=bool)
    for column in sales.condition.faults.values():
        faulty |= np.isin(column.codes, [column.levels.index(word) for word in column.levels if word != "works"])
    residuals = np.random.default_rng(0).normal(size=1500) * np.where(faulty, 0.25, 0.1)
    _, _, shares = fitted(sales, residuals)
    assert np.mean(shares[faulty]) > 2 * np.mean(shares[~faulty])


def test_shares_keep_their_bounds_however_uneven_the_errors(sales: SalesTable) -> None:
    brand = sales.condition.texts["brand"].codes
    residuals = np.random.default_rng(0).normal(size=sales.rows) * 10.0 ** (2 * brand)
    design, spread, shares = fitted(sales, residuals)
    for found in (spread.shares(design.rows(sales.condition)), shares):
        assert np.exp(-BOUND_LOG) <= found.min()
        assert found.max() <= np.exp(BOUND_LOG)


def test_even_errors_have_nearly_even_shares(sales: SalesTable) -> None:
    residuals = np.where(np.arange(sales.rows) % 2, 0.1, -0.1)
    _, _, shares = fitted(sales, residuals)
    assert shares == pytest.approx(np.ones(sales.rows), abs=0.05)


def test_a_sales_own_error_does_not_set_its_own_share(sales: SalesTable) -> None:
    brands = list(np.array(sales.condition.texts["brand"].levels)[sales.condition.texts["brand"].codes])
    calm = np.random.default_rng(0).normal(size=sales.rows) * np.array([0.03, 0.1, 0.2, 0.5])[
        [BRANDS.index(brand) for brand in brands]
    ]
    brands[7], calm[7] = "Sole", 5.0
    texts = {**sales.condition.texts, "brand": words(*brands)}
    design, spread, shares = fitted(with_condition(sales, texts=texts), calm)
    own = spread.shares(design.rows(replace(sales.condition, texts=texts), sales.asked))
    assert own[7] > 1.5 * shares[7]


def test_scaled_errors_have_the_same_shares(sales: SalesTable) -> None:
    residuals = np.random.default_rng(1).normal(size=sales.rows)
    first, second = fitted(sales, residuals)[2], fitted(sales, 1e-3 * residuals)[2]
    assert second == pytest.approx(first, rel=1e-6)
