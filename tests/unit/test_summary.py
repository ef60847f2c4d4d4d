from __future__ import annotations

from dataclasses import fields
from functools import reduce
from typing import Any

import numpy as np
import pytest

from pricing.hedonic.design import learn_design
from pricing.hedonic.summary import SalesSummary, path_of, summarise
from pricing.records.device_class import Attribute, DeviceClass
from pricing.records.sales_table import SalesTable
from tests.builders import small_class
from tests.market import small_sales, with_condition, words


@pytest.fixture(scope="module")
def sales() -> SalesTable:
    drawn = small_sales(400, seed=3)
    sold_as = words(*["parts" if row % 50 == 7 else "working" for row in range(drawn.rows)])
    size = np.random.default_rng(5).normal(150, 10, drawn.rows)
    numbers = {**drawn.condition.numbers, "battery_share": size}
    return with_condition(drawn, sold_as=sold_as, numbers=numbers)


def parts_of(sales: SalesTable, order: list[int]) -> list[SalesSummary]:
    dealt = np.random.default_rng(1).integers(0, len(order), sales.rows)
    return [summarise(sales.take(np.flatnonzero(dealt == number)), small_class()) for number in order]


def plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, dict):
        return {key: plain(each) for key, each in value.items()}
    return {item.name: plain(getattr(value, item.name)) for item in fields(value)} if hasattr(
        value, "__dataclass_fields__"
    ) else value


@pytest.mark.parametrize("order", [[0, 1, 2, 3], [2, 0, 3, 1]])
def test_parts_in_any_order_add_up_to_the_summary_of_the_whole(sales: SalesTable, order: list[int]) -> None:
    total = plain(reduce(SalesSummary.plus, parts_of(sales, order)))
    whole = plain(summarise(sales, small_class()))
    assert total.pop("prices") == pytest.approx(whole.pop("prices"), rel=1e-14)
    assert total == whole


@pytest.mark.parametrize("penalties", [True, False])
def test_the_design_learnt_from_parts_is_that_of_the_whole(sales: SalesTable, penalties: bool) -> None:
    total = reduce(SalesSummary.plus, parts_of(sales, [3, 1, 0, 2]))
    apart = learn_design(total, small_class(), penalties=penalties)
    whole = learn_design(summarise(sales, small_class()), small_class(), penalties=penalties)
    assert [plain(term) for term in apart.terms] == [plain(term) for term in whole.terms]
    assert apart.alike == whole.alike


def test_asked_prices_and_sales_for_parts_are_counted(sales: SalesTable) -> None:
    summary = summarise(sales, small_class())
    assert (summary.rows, summary.for_parts) == (400, 8)
    assert summary.asked == int(sales.asked.sum()) > 0


def test_prices_give_their_mean_logarithm_and_their_span(sales: SalesTable) -> None:
    summary = summarise(sales, small_class())
    assert summary.mean_log == pytest.approx(np.log(sales.price).mean(), rel=1e-14)
    assert (summary.prices.least, summary.prices.greatest) == (sales.price.min(), sales.price.max())


def test_a_part_without_sales_adds_nothing(sales: SalesTable) -> None:
    empty = summarise(sales.take(np.arange(0)), small_class())
    whole = summarise(sales, small_class())
    assert np.isnan(empty.mean_log)
    assert plain(empty.plus(whole)) == plain(whole)


def test_pairs_of_columns_are_counted_when_asked_for(sales: SalesTable) -> None:
    pairs = (("brand", "channel"),)
    found = summarise(sales, small_class(), pairs).levels[("brand", "channel")].levels
    assert sum(found.values()) == sales.rows
    assert {channel for _, channel in found} == {None}


def test_parts_with_other_columns_are_no_parts_of_the_same_sales(sales: SalesTable) -> None:
    other = with_condition(sales, faults={})
    with pytest.raises(ValueError, match="same columns of faults"):
        summarise(sales, small_class()).plus(summarise(other, small_class()))


def test_the_path_of_an_attribute_starts_at_its_outermost_parent() -> None:
    described = DeviceClass(name="tin", attributes=(
        Attribute(name="brand", kind="group"), Attribute(name="model", kind="group", within="brand"),
        Attribute(name="batch", kind="group", within="model"),
    ))  # fmt: skip
    assert path_of(described.attributes_by_name["batch"], described) == ("brand", "model", "batch")
