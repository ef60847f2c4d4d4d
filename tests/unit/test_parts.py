from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from pricing.hedonic.design import learn_design
from pricing.hedonic.gram import RawMoments, sales_moments
from pricing.hedonic.parts import LocalParts, tree_sum, without_refunded
from pricing.hedonic.ranks import drawn_by_rank, rank_keys, rank_order
from pricing.hedonic.summary import summarise
from pricing.records.sales_table import SalesTable
from tests.builders import small_class
from tests.market import sales_of, small_sales


@dataclass(frozen=True)
class Words:
    """Shows in which order and pairs results are added."""

    text: str

    def plus(self, other: Words) -> Words:
        return Words(f"({self.text}{other.text})")


@dataclass(frozen=True)
class Count:
    """Adds numbers."""

    value: float

    def plus(self, other: Count) -> Count:
        return Count(self.value + other.value)


@pytest.fixture(scope="module")
def sales() -> SalesTable:
    return small_sales(500, seed=2)


@pytest.mark.parametrize(
    ("letters", "tree"),
    [("a", "a"), ("abc", "((ab)c)"), ("abcd", "((ab)(cd))"), ("abcdefg", "(((ab)(cd))((ef)g))")],
)
def test_results_are_added_in_a_fixed_binary_tree(letters: str, tree: str) -> None:
    assert tree_sum(map(Words, letters)).text == tree


def test_nothing_has_no_sum() -> None:
    with pytest.raises(ValueError, match="no part"):
        tree_sum(iter(()))


def test_parts_hold_every_sale_once_but_refunded_ones(sales: SalesTable) -> None:
    refunded = np.arange(sales.rows) % 100 == 0
    parts = LocalParts(replace(sales, refunded=refunded), part_rows=64)
    found = np.concatenate([part.price for part in parts.parts()])
    assert np.array_equal(found, sales.price[~refunded])
    assert (parts.rows, parts.currency) == (495, "EUR")
    assert [part.rows for part in parts.parts()] == [64] * 7 + [47]


def test_sales_of_which_none_was_refunded_are_not_copied(sales: SalesTable) -> None:
    assert without_refunded(sales) is sales


def test_a_total_adds_what_a_function_makes_of_each_part(sales: SalesTable) -> None:
    def weighed(part: SalesTable, factor: float) -> Count:
        return Count(factor * float(part.price.sum()))

    assert LocalParts(sales, part_rows=37).total(weighed, 2.0).value == pytest.approx(2 * sales.price.sum(), rel=1e-13)


def test_summary_and_cross_products_of_parts_are_those_of_the_whole(sales: SalesTable) -> None:
    parts = LocalParts(sales, part_rows=90)
    summary = parts.total(summarise, small_class())
    design = learn_design(summary, small_class())

    def moments(part: SalesTable) -> RawMoments:
        return sales_moments(design, part, np.log(part.price))

    whole = sales_moments(learn_design(summarise(sales, small_class()), small_class()), sales, np.log(sales.price))
    apart = parts.total(moments)
    assert apart.rows == whole.rows == sales.rows
    assert np.abs(apart.rtr - whole.rtr).max() <= 1e-12 * np.abs(whole.rtr).max()
    assert np.abs(apart.rty - whole.rty).max() <= 1e-12 * np.abs(whole.rty).max()


@pytest.mark.parametrize("most", [37, 500, 10_000])
def test_neither_rows_nor_parts_in_another_order_change_a_sample(sales: SalesTable, most: int) -> None:
    shuffled = sales.take(np.random.default_rng(0).permutation(sales.rows))
    first, other = (LocalParts(each).sample(most, seed=8) for each in (sales, shuffled))
    assert first.rows == min(most, sales.rows)
    assert np.array_equal(first.price, other.price)
    assert np.array_equal(first.condition.sold_on, other.condition.sold_on)  # type: ignore[arg-type]
    assert np.all(np.diff(first.price) >= 0)


def test_a_sample_has_one_sale_of_each_run_of_ranks_and_another_seed_draws_others() -> None:
    sales = sales_of(np.arange(1.0, 1_001.0).tolist())
    drawn = LocalParts(sales).sample(100, seed=1).price
    assert np.array_equal((drawn - 1) // 10, np.arange(100))
    assert not np.array_equal(drawn, LocalParts(sales).sample(100, seed=2).price)
    assert np.array_equal(drawn, LocalParts(sales).sample(100, seed=1).price)


def test_every_sale_of_a_run_is_as_likely() -> None:
    keys = rank_keys(sales_of(np.arange(1.0, 7.0).tolist()))
    drawn = np.array([drawn_by_rank(keys, 2, seed) for seed in range(3_000)])
    counts = np.bincount(drawn.ravel(), minlength=6)
    assert np.abs(counts - 1_000).max() < 120  # 4.6 standard deviations of a count of 3,000 at one in three


def test_equal_prices_are_ranked_by_day_and_then_by_numbers() -> None:
    days = np.array(["2026-02-01", "2026-01-01", "2026-01-01", "NaT"], dtype="datetime64[D]")
    sales = sales_of([5.0, 5.0, 5.0, 5.0], numbers={"size": [1.0, 3.0, 2.0, 9.0]}, sold_on=days)
    assert rank_order(rank_keys(sales)).tolist() == [3, 2, 1, 0]


def test_keys_of_parts_join_to_the_keys_of_the_whole(sales: SalesTable) -> None:
    parts = [rank_keys(part) for part in LocalParts(sales, part_rows=111).parts()]
    assert np.array_equal(np.concatenate(parts, axis=1), rank_keys(sales))
