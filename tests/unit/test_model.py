from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest
from scipy import stats

from pricing.hedonic.fit import FitSettings, fit_model
from pricing.hedonic.level_term import FEW_LEVELS
from pricing.hedonic.model import PriceModel, depth_freedom, money
from pricing.hedonic.time_term import DAYS_A_MONTH
from pricing.records.estimate import LEVELS
from pricing.records.sales_table import SalesTable
from tests.builders import small_class
from tests.market import same_columns, table_of, with_condition, words

WHOLE = {
    "numbers": {"storage_gb": [128.0]},
    "texts": {"brand": ["Onda"], "model": ["N1"]},
    "faults": same_columns(1, **{function.name: "works" for function in small_class().functions}),
    "marks": same_columns(1, screen="none", back_panel="none"),
    "locks": same_columns(1, owner_account="free", network_lock="free"),
    "parts": same_columns(1, screen="original", back_panel="original", cell="original"),
}


def price(model: PriceModel, on: date | None = None, **changes: object) -> float:
    table = model.dated(table_of(1, **{**WHOLE, **changes}), on)
    return float(model.estimate(model.predict(table))[0])


def test_a_unit_alone_and_among_others_has_the_same_price(model: PriceModel, sales: SalesTable) -> None:
    dated = model.dated(sales.condition, None)
    together = model.predict(dated)
    for row in range(0, sales.rows, 7):
        alone = model.predict(dated.take(np.array([row])))
        assert alone.mean[0] == pytest.approx(together.mean[row], abs=1e-12)
        assert alone.own[0] == pytest.approx(together.own[row], abs=1e-12)
        assert np.array_equal(alone.unseen[0], together.unseen[row])


def test_the_variance_of_a_unit_is_its_own_error_and_that_of_the_fitted_effects(
    model: PriceModel, sales: SalesTable
) -> None:
    prediction = model.predict(model.dated(sales.condition, None))
    raw = model.design.rows(prediction.read)
    rows = raw.to_dense()
    fitted = np.sum(rows @ model.inverse * rows, axis=1)
    shares = model.spread.shares(raw)
    assert prediction.own == pytest.approx(model.sigma2 * shares + model.effect_sigma2 * fitted)
    assert np.ptp(shares) > 0.05
    assert fitted.min() > 0.01


def test_a_model_with_two_sales_is_less_sure_than_one_with_many(sales: SalesTable) -> None:
    names = np.where(np.arange(sales.rows) < 2, "Rare", "N1")
    texts = {**sales.condition.texts, "model": words(*names)}
    found = fit_model(with_condition(sales, texts=texts), small_class(), settings=FitSettings(spread=False))
    brand = sales.condition.texts["brand"].word(0)
    rare, usual = (
        found.predict(found.dated(table_of(1, **{**WHOLE, "texts": {"brand": [brand], "model": [name]}}), None))
        for name in ("Rare", "N1")
    )
    assert rare.own[0] > usual.own[0]
    assert (rare.unseen.sum(), usual.unseen.sum()) == (0.0, 0.0)


def test_more_units_than_a_chunk_holds_are_priced_alike(model: PriceModel, sales: SalesTable) -> None:
    rows = np.resize(np.arange(sales.rows), 9000)
    dated = model.dated(sales.condition, None)
    assert model.predict(dated.take(rows)).mean == pytest.approx(model.predict(dated).mean[rows], abs=1e-12)


def test_no_units_have_no_prices(model: PriceModel, sales: SalesTable) -> None:
    none = model.predict(model.dated(sales.condition.take(np.empty(0, dtype=np.intp)), None))
    assert len(model.estimate(none)) == len(model.expected(none)) == 0


def test_wider_levels_hold_the_narrower_ones(model: PriceModel, sales: SalesTable) -> None:
    prediction = model.predict(model.dated(sales.condition, None))
    bands = [model.interval(prediction, level) for level in LEVELS]
    for (low, high), (wider_low, wider_high) in pairwise(bands):
        assert np.all(wider_low <= low)
        assert np.all(high <= wider_high)
        assert np.all(low < high)


def test_an_undated_unit_is_priced_for_the_last_sale_or_the_day_asked_for(model: PriceModel) -> None:
    table = table_of(2, sold_on=np.array(["NaT", "2025-03-01"], dtype="datetime64[D]"))
    days = model.dated(table, date(2026, 1, 1)).sold_on
    assert days is not None
    assert days.tolist() == [date(2026, 1, 1), date(2025, 3, 1)]
    last = model.dated(table_of(1), None).sold_on
    assert last is not None
    assert last.tolist() == [model.last_sale]


def test_a_model_of_undated_sales_knows_no_day(sales: SalesTable) -> None:
    timeless = fit_model(with_condition(sales, sold_on=None), small_class())
    assert timeless.last_sale is None
    assert timeless.dated(table_of(1), date(2026, 1, 1)).sold_on is None
    assert price(timeless, date(2030, 1, 1)) == price(timeless)


def test_each_month_beyond_the_last_sale_adds_to_the_variance(model: PriceModel) -> None:
    assert model.last_sale is not None
    walk = replace(model, depth_variance=np.array([0.0, 0.0, 1e-3]))
    found = []
    for days in (0, 61, 365):
        table = walk.dated(table_of(1, **WHOLE), walk.last_sale + timedelta(days=days))
        prediction = walk.predict(table)
        assert prediction.unseen[0, 2] == pytest.approx(1e-3 * days / DAYS_A_MONTH)
        found.append(float(walk.deviation(prediction)[0]))
    assert found[0] < found[1] < found[2]


def test_prices_that_fell_go_on_falling_beyond_the_last_sale(model: PriceModel) -> None:
    assert model.last_sale is not None
    assert price(model, model.last_sale + timedelta(days=180)) < price(model)


def test_a_level_never_seen_of_few_has_wider_tails_than_the_normal(model: PriceModel) -> None:
    unseen = model.predict(model.dated(table_of(1, **{**WHOLE, "texts": {"brand": ["Zeta"], "model": ["N1"]}}), None))
    assert unseen.unseen[0, 0] > 0
    plain, wide = model.deviation(unseen)[0], model.deviation(unseen, 95)[0]
    tail = (stats.t.ppf(0.975, 3) / stats.norm.ppf(0.975)) ** 2
    brand, inner = unseen.unseen[0, :2]
    many = (stats.t.ppf(0.975, 11) / stats.norm.ppf(0.975)) ** 2
    assert wide**2 - plain**2 == pytest.approx(brand * (tail - 1) + inner * (many - 1))


def test_only_factors_with_few_levels_have_student_t(model: PriceModel, phone_model: PriceModel) -> None:
    assert depth_freedom(model.design).tolist() == [3.0, 11.0, np.inf]
    for term, freedom in zip(phone_model.design.terms[1:3], phone_model.depth_freedom, strict=False):
        levels = len(term.levels)  # type: ignore[union-attr]
        assert freedom == (levels - 1 if levels < FEW_LEVELS else np.inf)


def test_the_expected_price_is_the_mean_over_the_scores(model: PriceModel, sales: SalesTable) -> None:
    prediction = model.predict(model.dated(sales.condition, None))
    deviation = model.deviation(prediction)
    means = np.exp(prediction.mean + model.calibration.scores[:, None] * deviation).mean(axis=0)
    assert model.expected(prediction) == pytest.approx(means)
    assert np.mean(model.expected(prediction)) == pytest.approx(np.mean(sales.price), rel=0.05)


def test_half_of_the_paid_prices_lie_above_their_estimate(model: PriceModel, sales: SalesTable) -> None:
    paid = sales.take(np.flatnonzero(~sales.asked))
    estimate = model.estimate(model.predict(model.dated(paid.condition, None)))
    assert np.mean(paid.price > estimate) == pytest.approx(0.5, abs=0.05)


@pytest.mark.parametrize("hung", ["dead", "untested", "works"])
def test_a_gate_that_fails_is_worth_no_more_than_one_that_works_or_is_untested(model: PriceModel, hung: str) -> None:
    told = {function.name: hung if function.requires else "works" for function in small_class().functions}
    prices = [price(model, faults=same_columns(1, **{**told, "power_on": s})) for s in ("works", "untested", "dead")]
    assert prices[0] >= prices[1] >= prices[2]


def test_the_price_for_parts_is_the_floor(sales: SalesTable) -> None:
    parts = np.arange(sales.rows) % 5 == 0
    sold = replace(sales, price=np.where(parts, 60.0, sales.price))
    sold = with_condition(sold, sold_as=words(*np.where(parts, "parts", "working")))
    floored = fit_model(sold, small_class())
    dead = same_columns(1, **{function.name: "dead" for function in small_class().functions})
    worst = price(floored, faults=dead, locks=same_columns(1, owner_account="locked", network_lock="locked"))
    assert worst == pytest.approx(price(floored, sold_as=words("parts")))
    assert 40 < worst < 90
    assert price(floored) > worst


def test_fewest_sales_are_counted_over_the_attributes(model: PriceModel, sales: SalesTable) -> None:
    units = table_of(2, texts={"brand": ["Onda", "Onda"], "model": ["N1", "N9"]})
    fewest, without = model.fewest_sales(units)
    condition = sales.condition
    same = (condition.texts["brand"].codes == condition.texts["brand"].levels.index("Onda")) & (
        condition.texts["model"].codes == condition.texts["model"].levels.index("N1")
    )
    assert fewest.tolist() == [np.count_nonzero(same), 0]
    assert not without.any()


def test_money_stays_finite() -> None:
    assert np.isfinite(money(np.array([1e6, -1e6, 5.0]))).all()
