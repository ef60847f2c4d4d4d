from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import numpy as np
import pytest

from pricing.errors import BadInput
from pricing.estimation.estimate import (
    NO_CURRENCY,
    estimate_columns,
    estimate_unit,
    estimate_units,
    supports,
)
from pricing.hedonic.fit import fit_model
from pricing.hedonic.model import THIN, PriceModel
from pricing.records.estimate import LEVELS
from pricing.records.sales_table import SalesTable
from pricing.records.unit import Unit
from pricing.records.unit_columns import columns_of_units
from tests.builders import small_class, spotless
from tests.market import table_of, with_condition, words

KNOWN = {"brand": "Onda", "model": "N1", "storage_gb": "128"}


def unit(**attributes: str) -> Unit:
    return spotless(attributes={**KNOWN, **attributes})


def test_a_known_unit_has_an_estimate_inside_all_its_intervals(model: PriceModel) -> None:
    found = estimate_unit(model, unit())
    assert found.estimate is not None
    assert [interval.level for interval in found.intervals] == list(LEVELS)
    for interval in found.intervals:
        assert interval.low.amount < found.estimate.amount < interval.high.amount
    assert (found.support, found.abstained, found.calibrated) == ("seen", None, True)
    assert (found.on, found.model) == (model.on, model.fingerprint)
    assert found.estimate.currency == "EUR"
    assert found.estimate.amount == found.estimate.amount.quantize(Decimal("0.01"))


def test_one_unit_alone_and_in_a_batch_gives_the_same(model: PriceModel) -> None:
    units = [unit(), unit(brand="Zeta"), unit(storage_gb="5000"), spotless(attributes={}), unit(model="N2")]
    assert estimate_units(model, units) == tuple(estimate_unit(model, each) for each in units)


def test_a_brand_never_seen_is_unseen_and_surer_to_be_wrong(model: PriceModel) -> None:
    seen, unseen = estimate_unit(model, unit()), estimate_unit(model, unit(brand="Zeta"))
    assert unseen.support == "unseen"
    for known, wider in zip(seen.intervals, unseen.intervals, strict=True):
        assert wider.high.amount / wider.low.amount > known.high.amount / known.low.amount
    assert any("no sale of brand Zeta" in reason for reason in unseen.reasons)


def test_support_is_thin_up_to_four_sales(sales: SalesTable) -> None:
    brands = list(np.array(sales.condition.texts["brand"].levels)[sales.condition.texts["brand"].codes])
    brands[:THIN], brands[THIN : 2 * THIN + 1] = ["Rare"] * THIN, ["Less"] * (THIN + 1)
    texts = {"brand": words(*brands), "model": words(*["N1"] * sales.rows)}
    found = fit_model(with_condition(sales, texts=texts), small_class())
    told = table_of(4, texts={"brand": ["Rare", "Less", "Onda", "Zeta"], "model": ["N1"] * 4})
    assert supports(found, told) == ("thin", "seen", "seen", "unseen")
    reasons = estimate_unit(found, unit(brand="Rare")).reasons
    assert any(reason.startswith("only 4 sale") and reason.endswith("of brand Rare") for reason in reasons)


def test_an_abstained_unit_has_a_reason_and_no_figures(model: PriceModel) -> None:
    found = estimate_unit(model, unit(storage_gb="5000"))
    assert found.abstained is not None
    assert "too far outside" in found.abstained
    assert (found.estimate, found.expected, found.intervals) == (None, None, ())


def test_always_gives_figures_with_the_reason_to_doubt_them(model: PriceModel) -> None:
    found = estimate_unit(model, unit(storage_gb="5000"), always=True)
    assert found.estimate is not None
    assert found.abstained is None
    assert any("too far outside" in reason for reason in found.reasons)


def test_columns_and_units_agree(model: PriceModel) -> None:
    units = [unit(), unit(storage_gb="5000"), unit(brand="Zeta")]
    columns = estimate_columns(model, columns_of_units(units, model.device_class))
    for row, found in enumerate(estimate_units(model, units)):
        assert columns.support[row] == found.support
        assert columns.abstained[row] == found.abstained
        if found.estimate is None:
            assert np.isnan(columns.estimate[row])
            assert all(np.isnan(columns.low[level][row]) for level in LEVELS)
        else:
            assert float(found.estimate.amount) == pytest.approx(columns.estimate[row], abs=0.005)


def test_the_day_moves_the_estimate_and_widens_it_beyond_the_last_sale(model: PriceModel) -> None:
    assert model.last_sale is not None
    later = model.last_sale + timedelta(days=365)
    now, then = estimate_unit(model, unit()), estimate_unit(model, unit(), on=later)
    assert then.on == later
    assert then.estimate is not None
    assert now.estimate is not None
    assert then.estimate.amount < now.estimate.amount
    assert "365 days after the last sale" in then.reasons


def test_a_model_without_a_currency_uses_the_code_for_none(sales: SalesTable) -> None:
    found = estimate_unit(fit_model(replace(sales, currency=""), small_class()), unit())
    assert found.estimate is not None
    assert found.estimate.currency == NO_CURRENCY


def test_only_asked_prices_make_an_estimate_of_an_asking_price(sales: SalesTable) -> None:
    asked = fit_model(replace(sales, asked=np.ones(sales.rows, dtype=bool)), small_class())
    found = estimate_unit(asked, unit())
    assert found.of_asking_price
    assert any("estimates an asking price" in reason for reason in found.reasons)


def test_undated_sales_make_an_estimate_without_a_day(sales: SalesTable) -> None:
    found = estimate_unit(fit_model(with_condition(sales, sold_on=None), small_class()), unit(), on=date(2026, 1, 1))
    assert found.on is None
    assert any("not dated" in reason for reason in found.reasons)


def test_few_sales_make_an_uncalibrated_estimate(sales: SalesTable) -> None:
    found = estimate_unit(fit_model(sales.take(np.arange(20)), small_class()), unit(), always=True)
    assert not found.calibrated
    assert any("not every interval could be checked" in reason for reason in found.reasons)


def test_a_unit_of_another_class_or_with_unknown_names_is_refused(model: PriceModel) -> None:
    with pytest.raises(BadInput, match="of the class talker, the unit of camera"):
        estimate_unit(model, Unit.model_validate({"class": "camera"}))
    with pytest.raises(BadInput):
        estimate_unit(model, spotless(attributes={"colour": "red"}))
