from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from scipy import stats

from pricing.errors import CannotFit, SingularDesign
from pricing.hedonic.design import learn_design
from pricing.hedonic.fit import CORE, FEWEST_ROWS, LEAST_SQUARES, FitSettings, fit_model
from pricing.hedonic.gram import sales_moments
from pricing.hedonic.model import PriceModel
from pricing.hedonic.model_file import model_to_text
from pricing.hedonic.ranks import rank_keys, rank_order
from pricing.hedonic.scores import optimism
from pricing.hedonic.solution import solve
from pricing.hedonic.spread import even_spread
from pricing.hedonic.summary import summarise
from pricing.records.device_class import Attribute, DeviceClass
from pricing.records.sales_table import SalesTable
from tests.builders import small_class
from tests.market import repriced, sales_of, small_sales, with_condition

SIZED = DeviceClass(name="box", attributes=(Attribute(name="size", kind="number"),))


def estimates(model: PriceModel, sales: SalesTable) -> np.ndarray:
    prediction = model.predict(model.dated(sales.condition, None))
    low, high = model.interval(prediction, 80)
    return np.column_stack([model.estimate(prediction), low, high])


def test_refunded_rows_do_not_count(model: PriceModel, sales: SalesTable) -> None:
    rows = np.concatenate([np.arange(sales.rows), np.arange(40)])
    more = sales.take(rows)
    refunded = np.arange(more.rows) >= sales.rows
    more = replace(more, refunded=refunded, price=np.where(refunded, 9999.0, more.price))
    assert model_to_text(fit_model(more, small_class())) == model_to_text(model)


def test_asked_prices_move_the_effect_of_asking_and_not_the_estimate(sales: SalesTable) -> None:
    even = replace(CORE, spread=False)
    first = fit_model(sales, small_class(), settings=even)
    second = fit_model(repriced(sales, np.where(sales.asked, 1.5, 1.0) * sales.price), small_class(), settings=even)
    assert estimates(second, sales) == pytest.approx(estimates(first, sales), rel=1e-6)
    asked = first.design.places[0].dense
    assert second.effects[asked] - first.effects[asked] == pytest.approx(np.log(1.5))
    assert first.sold_rows == int(np.count_nonzero(~sales.asked))


def test_when_every_price_was_only_asked_the_model_says_so(sales: SalesTable) -> None:
    asked = fit_model(replace(sales, asked=np.ones(sales.rows, dtype=bool)), small_class())
    assert asked.of_asking_price
    assert asked.sold_rows == sales.rows
    assert any("only asked" in notice for notice in asked.notices)


def test_undated_sales_have_no_time_effect_and_a_notice(sales: SalesTable) -> None:
    undated = fit_model(with_condition(sales, sold_on=None), small_class())
    assert "time" not in [term.name for term in undated.design.terms]
    assert (undated.on, undated.last_sale) == (None, None)
    assert any("no effect of time" in notice for notice in undated.notices)


def test_the_day_is_the_last_sale_unless_another_is_given(model: PriceModel, sales: SalesTable) -> None:
    days = sales.condition.sold_on
    assert days is not None
    assert model.on == model.last_sale == days.max().item()
    later = fit_model(sales, small_class(), on=date(2027, 1, 1))
    assert (later.on, later.last_sale) == (date(2027, 1, 1), model.last_sale)


def test_too_few_sales_are_refused_and_refunded_ones_do_not_help(sales: SalesTable) -> None:
    few = sales.take(np.arange(FEWEST_ROWS))
    refunded = replace(few, refunded=np.arange(FEWEST_ROWS) == 0)
    for each in (few.take(np.arange(FEWEST_ROWS - 1)), refunded, sales.take(np.empty(0, dtype=np.intp))):
        with pytest.raises(CannotFit, match="too few"):
            fit_model(each, small_class())
    assert fit_model(few, small_class()).rows == FEWEST_ROWS


def test_equal_prices_are_refused(sales: SalesTable) -> None:
    with pytest.raises(CannotFit, match="all prices are equal"):
        fit_model(repriced(sales, np.full(sales.rows, 99.95)), small_class())


@pytest.mark.parametrize(("rows", "calibrated"), [(38, False), (39, True)])
def test_below_39_paid_prices_the_widest_interval_is_student_t(
    sales: SalesTable, rows: int, calibrated: bool
) -> None:
    found = fit_model(sales.take(np.flatnonzero(~sales.asked)[:rows]), small_class())
    assert found.calibration.calibrated == (True, True, True, calibrated)
    assert any("too few sales to check" in notice for notice in found.notices) is not calibrated
    if not calibrated:
        assert found.calibration.high[3] == pytest.approx(stats.t.ppf(0.975, found.calibration.freedom))


def test_asked_prices_are_no_scores(sales: SalesTable) -> None:
    assert len(fit_model(sales, small_class()).calibration.scores) == np.count_nonzero(~sales.asked)


def test_scores_are_those_of_fits_without_the_sale(monkeypatch: pytest.MonkeyPatch) -> None:
    few, rng = small_sales(60, seed=2), np.random.default_rng(4)
    shares = np.exp(rng.normal(size=60))
    monkeypatch.setattr("pricing.hedonic.recipe.fit_spread", lambda *_: (even_spread(), shares))
    few = few.take(rank_order(rank_keys(few)))
    found = fit_model(few, small_class(), settings=replace(CORE, signs=False))
    design, response = found.design, np.log(few.price) - found.centre
    first = solve(sales_moments(design, few, response), design, signs=False).variances.lambdas
    solution = solve(sales_moments(design, few, response, 1 / shares), design, start=first, signs=False)
    assert found.sigma2 == pytest.approx(solution.variances.sigma2, rel=1e-6)
    table = design.block_table()
    raw = design.rows(few.condition, few.asked).to_dense()
    columns, rest = raw @ table.to_raw.toarray(), response - raw @ table.offset
    penalty = np.diag(np.where(table.block_of < 0, 0.0, solution.variances.lambdas[table.block_of]))
    missed, spread = np.empty(60), np.empty(60)
    for row in range(60):
        kept = np.delete(np.arange(60), row)
        weighted = columns[kept].T / shares[kept]
        matrix = weighted @ columns[kept] + penalty
        missed[row] = rest[row] - columns[row] @ np.linalg.solve(matrix, weighted @ rest[kept])
        spread[row] = found.sigma2 * (shares[row] + columns[row] @ np.linalg.solve(matrix, columns[row]))
    paid = ~few.asked
    assert 0 < np.count_nonzero(few.asked) < 60
    expected = np.sort((missed / np.sqrt(spread))[paid]) * optimism(solution, 60)
    assert found.calibration.scores == pytest.approx(expected, rel=1e-5, abs=1e-7)
    assert found.shift == pytest.approx(np.median(missed[paid]), rel=1e-5)


def test_scores_grow_by_two_sales_for_each_variance_that_was_fitted(sales: SalesTable) -> None:
    design = learn_design(summarise(sales, small_class()), small_class())
    solution = solve(sales_moments(design, sales, np.log(sales.price / sales.price.mean())), design)
    fitted = int(np.count_nonzero(~solution.variances.capped))
    assert fitted > 0
    assert optimism(solution, 100) ** 2 == pytest.approx(1 + 2 * fitted / 100)


def test_attributes_alike_in_all_sales_are_named_in_a_notice(sales: SalesTable) -> None:
    box = replace(sales.condition, texts={}, numbers={"storage_gb": np.full(sales.rows, 64.0)})
    found = fit_model(replace(sales, condition=box), small_class())
    assert "left out, because no sale states it: brand, model" in found.notices
    assert "storage_gb is left out: all sales have 64.0" in found.notices


def test_a_number_that_others_determine_is_named_or_refused_without_penalties() -> None:
    twins = DeviceClass(name="twins", attributes=(*SIZED.attributes, Attribute(name="double", kind="number")))
    size = np.random.default_rng(0).uniform(1, 9, 60)
    sales = sales_of(np.exp(size / 9 + 0.1 * np.sin(40 * size)), numbers={"size": size, "double": 2 * size})
    assert "left out, because other columns already determine them: double" in fit_model(sales, twins).notices
    with pytest.raises(SingularDesign, match="double"):
        fit_model(sales, twins, settings=LEAST_SQUARES)


def test_exact_prices_are_fitted_without_a_warning() -> None:
    size = np.random.default_rng(0).uniform(1, 9, 400)
    sales = sales_of(np.exp(size / 3), numbers={"size": size})
    assert estimates(fit_model(sales, SIZED), sales)[:, 0] == pytest.approx(sales.price, rel=1e-6)


def test_storage_that_only_raises_never_lowers_the_estimate() -> None:
    described = DeviceClass(name="box", attributes=(Attribute(name="size", kind="number", effect="raises"),))
    rng = np.random.default_rng(0)
    size = rng.uniform(0, 10, 300)
    sales = sales_of(np.exp(np.minimum(size, 5.0) - 0.2 * np.maximum(size - 5, 0) + 0.2 * rng.normal(size=300)),
                     numbers={"size": size})  # fmt: skip
    grid = sales_of(np.ones(200), numbers={"size": np.linspace(-3, 14, 200)})
    bound = estimates(fit_model(sales, described), grid)[:, 0]
    assert np.diff(bound).min() >= -1e-9 * bound.max()
    assert np.diff(estimates(fit_model(sales, SIZED), grid)[:, 0]).min() < 0


@pytest.mark.parametrize("spread", [True, False])
def test_effects_keep_to_their_direction_only_where_asked_and_with_penalties(spread: bool) -> None:
    described = DeviceClass(name="box", attributes=(Attribute(name="size", kind="number", effect="raises"),))
    rng = np.random.default_rng(0)
    size = rng.uniform(0, 10, 120)
    sales = sales_of(np.exp(-0.1 * size + 0.2 * rng.normal(size=120)), numbers={"size": size})
    bound = fit_model(sales, described, settings=FitSettings(spread=spread))
    assert np.ptp(estimates(bound, sales)[:, 0]) == pytest.approx(0.0, abs=1e-6)
    for chosen in (FitSettings(signs=False, spread=spread), FitSettings(penalties=False, spread=spread)):
        found = fit_model(sales, described, settings=chosen)
        assert np.array_equal(found.effects, found.free_effects)
        assert np.corrcoef(size, np.log(estimates(found, sales)[:, 0]))[0, 1] < -0.9


def test_the_same_sales_give_the_same_model_and_the_seed_only_moves_folds(
    model: PriceModel, sales: SalesTable
) -> None:
    assert model_to_text(fit_model(sales, small_class())) == model_to_text(model)
    other = fit_model(sales, small_class(), seed=5)
    assert other.fingerprint != model.fingerprint
    assert estimates(other, sales) == pytest.approx(estimates(model, sales), rel=0.05)


def test_effects_come_from_all_sales_where_only_some_are_sampled(monkeypatch: pytest.MonkeyPatch) -> None:
    many = small_sales(900, seed=5)
    whole = fit_model(many, small_class(), settings=CORE)
    monkeypatch.setattr("pricing.hedonic.fit.MOST_SAMPLE", 300)
    sampled = fit_model(many, small_class(), settings=CORE)
    some = fit_model(many.take(np.arange(300)), small_class(), settings=CORE)
    assert sampled.rows == whole.rows == 900
    assert len(sampled.held.mean) < 300 < len(whole.held.mean)
    wanted = np.log(estimates(whole, many)[:, 0])
    assert np.std(np.log(estimates(sampled, many)[:, 0]) - wanted) < 0.5 * np.std(
        np.log(estimates(some, many)[:, 0]) - wanted
    )
