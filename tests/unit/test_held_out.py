from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pricing.estimation.held_out import HeldOutPrices, coverage_rows, error_size, held_out_prices
from pricing.hedonic.fit import CORE, fit_model
from pricing.hedonic.held import MOST_HELD, HeldOut
from pricing.hedonic.model import PriceModel
from pricing.hedonic.ranks import rank_keys, rank_order
from pricing.records.sales_table import SalesTable
from tests.builders import small_class
from tests.market import NOISE_LOG


def held(price, estimate, scores, others) -> HeldOutPrices:
    columns = (price, estimate, np.log(estimate), scores, others)
    return HeldOutPrices(*(np.asarray(each, dtype=np.float64) for each in columns))


def test_an_estimate_without_a_sale_is_near_that_of_a_model_fitted_without_it(sales: SalesTable):
    ordered = sales.take(rank_order(rank_keys(sales)))
    model = fit_model(ordered, small_class(), settings=CORE)
    found = held_out_prices(model)
    paid = np.flatnonzero(~ordered.asked)
    moved, error = [], []
    for place in range(0, len(paid), len(paid) // 10):
        row = int(paid[place])
        without = fit_model(ordered.take(np.delete(np.arange(sales.rows), row)), small_class(), settings=CORE)
        table = ordered.condition.take(np.array([row]))
        refitted = float(without.estimate(without.predict(without.dated(table, None)))[0])
        with_it = float(model.estimate(model.predict(model.dated(table, None)))[0])
        moved.append(np.log(refitted / with_it))
        error.append(np.log(refitted / found.estimate[place]))
    # Leaving a sale out moves its estimate; the closed form must find most of that move.
    assert found.mean == pytest.approx(np.log(found.estimate) - model.shift - model.centre)
    assert np.std(error) < 0.5 * np.std(moved)
    assert np.abs(error).max() < 0.5 * NOISE_LOG


def test_only_prices_paid_and_kept_are_held_out(sales: SalesTable):
    refunded = replace(sales, refunded=np.arange(sales.rows) < 20)
    kept = ~refunded.refunded & ~sales.asked
    found = held_out_prices(fit_model(refunded, small_class()))
    assert np.sort(found.price) == pytest.approx(np.sort(sales.price[kept]))


def test_a_model_of_asking_prices_is_held_against_them(sales: SalesTable):
    asked = replace(sales, asked=np.ones(sales.rows, dtype=np.bool_))
    assert len(held_out_prices(fit_model(asked, small_class())).price) == sales.rows


def test_of_very_many_sales_evenly_spaced_ones_are_kept():
    many = np.arange(5000.0)
    kept = HeldOut(many, many + 1, many + 2, many + 3).thinned()
    assert len(kept.mean) == MOST_HELD
    assert (kept.mean[0], kept.mean[-1]) == (0.0, 4999.0)
    assert kept.others.tolist() == (kept.mean + 3).tolist()


def test_scores_reach_as_far_as_the_intervals_that_they_set(model: PriceModel):
    scores = np.sort(held_out_prices(model).scores)
    assert np.std(scores) == pytest.approx(np.std(model.calibration.scores), rel=0.15)


def test_the_error_is_told_as_a_median_and_a_range():
    size = error_size(held([100, 100, 100, 100, 100], [90, 100, 100, 125, 200], [0] * 5, [9] * 5))
    assert size.median == pytest.approx(10.0)
    assert size.sales == 5
    assert size.low_80 == pytest.approx(np.quantile([100 / 90, 1, 1, 0.8, 0.5], 0.1) * 100 - 100)


def test_coverage_counts_the_scores_between_the_ends_of_each_interval(model: PriceModel):
    edges = [float(model.multiples(level, np.zeros(1), np.array([2]))[1][0]) for level in (50, 95)]
    scores = [0.0, edges[0] * 0.99, edges[0] * 1.01, edges[1] * 1.01]
    every = coverage_rows(model, held([1] * 4, [1, 2, 3, 4], scores, [9] * 4))[0]
    assert (every.label, every.sales) == ("all", 4)
    assert every.within[50] == 50.0
    assert every.within[95] == 75.0


def test_parts_of_the_sales_are_told_apart_by_support_and_by_the_estimate(model: PriceModel):
    rows = coverage_rows(model, held([1] * 9, np.arange(10, 100, 10), [0.0] * 8 + [99.0], [0, 1, 4, 5, 9, 9, 9, 9, 9]))
    counts = {row.label: row.sales for row in rows}
    assert (counts["unseen"], counts["thin"], counts["seen"]) == (1, 2, 6)
    thirds = [row for row in rows if row.label.startswith("estimates")]
    assert [row.sales for row in thirds] == [3, 3, 3]
    assert thirds[0].label == "estimates up to 36.67 EUR"
    assert thirds[2].label == "estimates above 63.33 EUR"
    assert [row.within[95] for row in thirds] == pytest.approx([100.0, 100.0, 200 / 3])
