from __future__ import annotations

import numpy as np
import pytest

from pricing.estimation.abstaining import WIDEST_FACTOR, reasons_to_abstain
from pricing.hedonic.fit import fit_model
from pricing.hedonic.model import PriceModel
from pricing.records.sales_table import SalesTable
from tests.builders import small_class
from tests.market import same_columns, table_of, with_condition

NARROW = (np.array([100.0]), np.array([200.0]))


@pytest.fixture(scope="module")
def narrow_market(sales: SalesTable) -> PriceModel:
    """A model of sales that are all of one storage and one brand."""
    texts = {**sales.condition.texts, **same_columns(sales.rows, brand="Onda")}
    numbers = {"storage_gb": np.full(sales.rows, 64.0)}
    return fit_model(with_condition(sales, texts=texts, numbers=numbers), small_class())


def test_an_ordinary_unit_has_no_reason(model: PriceModel) -> None:
    assert reasons_to_abstain(model, table_of(1, numbers={"storage_gb": [128.0]}), *NARROW) == [None]


@pytest.mark.parametrize(("factor", "abstains"), [(WIDEST_FACTOR, False), (WIDEST_FACTOR * 1.001, True)])
def test_an_interval_wider_than_a_factor_of_6_is_a_reason(model: PriceModel, factor: float, abstains: bool) -> None:
    reason = reasons_to_abstain(model, table_of(1), np.array([50.0]), np.array([50.0 * factor]))[0]
    assert (reason is not None) is abstains
    assert reason is None or "wider than a factor of 6" in reason


@pytest.mark.parametrize(("storage", "abstains"), [(64, False), (960, False), (961, True), (-385, True), (1e9, True)])
def test_a_number_a_whole_span_outside_the_sales_is_a_reason(
    model: PriceModel, storage: float, abstains: bool
) -> None:
    reason = reasons_to_abstain(model, table_of(1, numbers={"storage_gb": [storage]}), *NARROW)[0]
    assert (reason is not None) is abstains
    assert reason is None or "the sales cover 64 to 512" in reason


def test_a_number_that_is_not_stated_is_no_reason(model: PriceModel) -> None:
    assert reasons_to_abstain(model, table_of(1, numbers={"storage_gb": [np.nan]}), *NARROW) == [None]


def test_a_value_that_no_sale_had_where_all_are_alike_is_a_reason(narrow_market: PriceModel) -> None:
    wide = (np.full(3, 100.0), np.full(3, 200.0))
    units = table_of(3, numbers={"storage_gb": [64.0, 128.0, np.nan]}, texts={"brand": ["Onda", "Onda", "Tessa"]})
    reasons = reasons_to_abstain(narrow_market, units, *wide)
    assert reasons == [
        None,
        "all sales have storage_gb 64, so nothing is known of 128",
        "all sales have brand Onda, so nothing is known of Tessa",
    ]
    assert reasons_to_abstain(narrow_market, table_of(3), *wide) == [None] * 3


def test_each_unit_has_its_own_reason(model: PriceModel) -> None:
    units = table_of(3, numbers={"storage_gb": [128.0, 5000.0, 128.0]})
    reasons = reasons_to_abstain(model, units, np.array([1.0, 1.0, 1.0]), np.array([2.0, 2.0, 9.0]))
    assert [reason is None for reason in reasons] == [True, False, False]
