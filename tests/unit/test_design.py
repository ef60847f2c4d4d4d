from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pricing.hedonic.design import Design, learn_design
from pricing.hedonic.fault_term import FaultTerm
from pricing.hedonic.state_term import StateTerm
from pricing.hedonic.summary import summarise
from pricing.records.device_class import Attribute, DeviceClass
from pricing.records.sales_table import SalesTable
from tests.builders import small_class
from tests.market import sales_of, table_of, with_condition, words


@pytest.fixture(scope="module")
def design(sales: SalesTable) -> Design:
    return learn_design(summarise(sales, small_class()), small_class())


def test_terms_come_in_a_fixed_order(design: Design) -> None:
    expected = ["market", "brand", "model", "storage_gb", "faults", "marks", "locks", "parts", "time"]
    assert [term.name for term in design.terms] == expected


def test_every_raw_column_belongs_to_one_term_or_is_the_constant(design: Design) -> None:
    columns = [column for number in range(len(design.terms)) for column in design.term_columns(number)]
    assert sorted(columns) == list(range(1, design.columns))


def test_rows_have_the_columns_that_the_design_counts(design: Design, sales: SalesTable) -> None:
    raw = design.rows(sales.condition, sales.asked)
    assert raw.columns == design.columns == design.block_table().to_raw.shape[0]
    assert np.all(raw.dense[:, 0] == 1.0)
    assert raw.unseen.shape == (sales.rows, 3)


def test_a_row_is_the_same_alone_and_among_others(design: Design, sales: SalesTable) -> None:
    together = design.rows(sales.condition, sales.asked).to_dense()
    for row in (0, 17, sales.rows - 1):
        one = np.array([row])
        alone = design.rows(sales.condition.take(one), sales.asked[one]).to_dense()
        assert np.array_equal(alone[0], together[row])


def test_chunks_cover_every_row_once_in_order(design: Design, sales: SalesTable) -> None:
    parts = [(part, raw.dense) for part, raw in design.chunks(sales.condition, sales.asked, 50)]
    assert [part.start for part, _ in parts] == list(range(0, sales.rows, 50))
    assert np.array_equal(np.vstack([dense for _, dense in parts]), design.rows(sales.condition, sales.asked).dense)


def test_for_a_unit_sold_for_parts_its_condition_does_not_count(sales: SalesTable) -> None:
    sold_as = words(*["parts"] * 8, *["working"] * (sales.rows - 8))
    design = learn_design(summarise(with_condition(sales, sold_as=sold_as), small_class()), small_class())
    assert design.market.parts
    raw = design.rows(replace(sales.condition, sold_as=sold_as)).to_dense()
    for number, term in enumerate(design.terms):
        if isinstance(term, FaultTerm | StateTerm):
            part = raw[:, design.term_columns(number)]
            assert not part[:8].any()
            assert part[8:].any()


def test_a_few_sales_for_parts_are_too_few_for_a_column(sales: SalesTable) -> None:
    sold_as = words(*["parts"] * 4, *["working"] * (sales.rows - 4))
    summary = summarise(with_condition(sales, sold_as=sold_as), small_class())
    assert not learn_design(summary, small_class()).market.parts


def test_attributes_in_which_all_sales_are_alike_are_left_out_with_their_value() -> None:
    described = DeviceClass(name="box", attributes=(
        Attribute(name="size", kind="number"), Attribute(name="brand", kind="group"),
        Attribute(name="region", kind="choice"), Attribute(name="year", kind="number"),
    ))  # fmt: skip
    sales = sales_of(range(1, 10), numbers={"size": [3.0] * 9}, texts={"brand": ["A"] * 9, "region": [None] * 9})
    design = learn_design(summarise(sales, described), described)
    assert design.alike == {"size": "3.0", "brand": "A", "region": None, "year": None}
    assert design.columns == 1


def test_contract_columns_enter_where_the_file_has_them(sales: SalesTable) -> None:
    channel = words(*np.where(np.arange(sales.rows) % 2, "fair", "shop"))
    told = with_condition(
        sales,
        texts={**sales.condition.texts, "channel": channel},
        numbers={**sales.condition.numbers, "battery_share": np.linspace(60, 100, sales.rows)},
    )
    names = [term.name for term in learn_design(summarise(told, small_class()), small_class()).terms]
    assert names[4:6] == ["battery_share", "channel"]


def test_without_penalties_numbers_are_straight_and_one_level_is_the_reference(sales: SalesTable) -> None:
    plain = learn_design(summarise(sales, small_class()), small_class(), penalties=False)
    widths = {term.name: term.dense_columns + term.hot_columns for term in plain.terms}
    assert (widths["storage_gb"], widths["brand"], widths["model"]) == (1, 3, 11)


def test_few_sales_get_few_knots(sales: SalesTable) -> None:
    described = DeviceClass(name="box", attributes=(Attribute(name="size", kind="number"),))
    for rows, bends in ((9, 3), (18, 6), (300, 8)):
        size = np.random.default_rng(0).uniform(1, 9, rows)
        design = learn_design(summarise(sales_of(1 + size, numbers={"size": size}), described), described)
        assert design.terms[1].dense_columns == 1 + bends


@pytest.mark.parametrize(("effect", "sign"), [("raises", 1.0), ("lowers", -1.0)])
def test_a_number_that_only_raises_or_lowers_has_its_slopes_bounded(effect: str, sign: float) -> None:
    described = DeviceClass(name="box", attributes=(Attribute(name="size", kind="number", effect=effect),))  # type: ignore[arg-type]
    size = np.random.default_rng(0).uniform(1, 9, 60)
    design = learn_design(summarise(sales_of(1 + size, numbers={"size": size}), described), described)
    first = design.places[1].dense
    straight = np.zeros(design.columns)
    straight[first] = 1.0
    values = [sum(factor * straight[column] for column, factor in row.items()) for row in design.sign_rows()]
    assert len(values) > 40
    assert values == pytest.approx([sign] * len(values))


def test_units_without_any_column_still_have_rows(design: Design) -> None:
    raw = design.rows(table_of(2))
    assert raw.columns == design.columns
    assert raw.unseen[0].tolist() == [1.0, 1.0, 0.0]
