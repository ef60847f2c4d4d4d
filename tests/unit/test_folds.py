from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pricing.hedonic.folds import fold_numbers
from pricing.records.sales_table import SalesTable, TextColumn
from tests.market import repriced, sales_of, with_condition


def test_folds_are_as_even_as_can_be(sales: SalesTable) -> None:
    counts = np.bincount(fold_numbers(sales, 7, seed=3))
    assert len(counts) == 7
    assert counts.max() - counts.min() <= 1


def test_each_fold_has_cheap_and_dear_sales(sales: SalesTable) -> None:
    folds = fold_numbers(sales, 10, seed=0)
    rank = np.argsort(np.argsort(sales.price))
    for fold in range(10):
        assert np.mean(rank[folds == fold]) == pytest.approx(np.mean(rank), abs=5)


def test_a_sale_keeps_its_fold_when_rows_are_permuted(sales: SalesTable) -> None:
    order = np.random.default_rng(0).permutation(sales.rows)
    assert np.array_equal(fold_numbers(sales.take(order), 10, 0), fold_numbers(sales, 10, 0)[order])


def test_a_sale_keeps_its_fold_when_levels_are_renamed_and_prices_scaled(sales: SalesTable) -> None:
    brand = sales.condition.texts["brand"]
    renamed = TextColumn(brand.codes, tuple(f"Z{9 - number}" for number in range(len(brand.levels))))
    other = with_condition(sales, texts={**sales.condition.texts, "brand": renamed})
    assert np.array_equal(fold_numbers(other, 10, 0), fold_numbers(sales, 10, 0))
    assert np.array_equal(fold_numbers(repriced(sales, 7 * sales.price), 10, 0), fold_numbers(sales, 10, 0))


def test_equal_prices_are_told_apart_by_day_and_numbers() -> None:
    days = np.array(["2025-01-03", "2025-01-01", "2025-01-02", "2025-01-01"], dtype="datetime64[D]")
    tied = sales_of([5.0] * 4, sold_on=days, numbers={"size": [1.0, 2.0, 3.0, 1.0]})
    order = np.array([2, 0, 3, 1])
    for seed in range(5):
        assert np.array_equal(fold_numbers(tied.take(order), 4, seed), fold_numbers(tied, 4, seed)[order])


def test_the_seed_decides_and_undated_sales_have_folds_too(sales: SalesTable) -> None:
    undated = replace(sales, condition=replace(sales.condition, sold_on=None))
    first = fold_numbers(undated, 10, 1)
    assert np.array_equal(first, fold_numbers(undated, 10, 1))
    assert not np.array_equal(first, fold_numbers(undated, 10, 2))
