"""The variance of a month to come, measured on months that were once to come."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pricing.hedonic.beyond import month_variance
from pricing.hedonic.design import learn_design
from pricing.hedonic.gram import sales_moments
from pricing.hedonic.recipe import Fitted
from pricing.hedonic.solution import solve
from pricing.hedonic.spread import even_spread
from pricing.hedonic.summary import summarise
from pricing.hedonic.time_term import DAYS_A_MONTH
from pricing.records.device_class import Attribute, DeviceClass
from pricing.records.sales_table import SalesTable
from tests.market import FIRST_DAY, sales_of

CLASS = DeviceClass(name="thing", attributes=(Attribute(name="size", kind="number"),))
MONTHS = 15


def market(step: float, *, rows: int = 1200, months: int = MONTHS, seed: int = 1) -> SalesTable:
    """Return sales whose effect of size walks by ``step`` a month, on the log of price."""
    rng = np.random.default_rng(seed)
    month = rng.integers(0, months, rows)
    size = rng.normal(size=rows)
    walk = np.cumsum(step * rng.normal(size=months))
    days = FIRST_DAY + np.round((month + rng.random(rows)) * DAYS_A_MONTH).astype("timedelta64[D]")
    price = np.exp(5 + (0.2 + walk[month]) * size + 0.1 * rng.standard_normal(rows))
    return sales_of(price.tolist(), numbers={"size": size}, sold_on=days)


def fit_of(sales: SalesTable) -> Fitted:
    response = np.log(sales.price) - np.log(sales.price).mean()
    design = learn_design(summarise(sales, CLASS), CLASS)
    solution = solve(sales_moments(design, sales, response), design)
    return Fitted(sales, response, design, solution, even_spread(), np.ones(sales.rows))


def test_in_a_steady_market_a_month_to_come_costs_next_to_nothing() -> None:
    found = [month_variance(fit_of(market(0.0, seed=seed)), bounded=True) for seed in range(8)]
    assert np.mean(found) <= 0.01**2


def test_where_effects_walk_it_costs_what_their_steps_do() -> None:
    """Sizes have variance 1, so a step of 0.04 a month adds 0.04 squared for each month, on average over markets.

    It is found larger: effects are fitted to all the months before, so at the last sale they are behind already.
    """
    found = [month_variance(fit_of(market(0.04, seed=seed)), bounded=True) for seed in range(12)]
    assert 0.04**2 <= np.mean(found) <= 4 * 0.04**2


def test_the_order_of_sales_does_not_matter() -> None:
    sales = market(0.04)
    shuffled = sales.take(np.random.default_rng(0).permutation(sales.rows))
    found = month_variance(fit_of(sales), bounded=True)
    assert month_variance(fit_of(shuffled), bounded=True) == pytest.approx(found, rel=1e-6)


@pytest.mark.parametrize(
    "sales", [market(0.04, months=8), market(0.04, rows=40)], ids=["8 months", "40 sales"]
)
def test_too_few_months_or_sales_tell_nothing(sales: SalesTable) -> None:
    assert month_variance(fit_of(sales), bounded=True) == 0.0


def test_prices_that_were_only_asked_do_not_count_as_months_to_come() -> None:
    sales = market(0.04)
    late = sales.condition.sold_on >= FIRST_DAY + 270
    assert month_variance(fit_of(replace(sales, asked=late)), bounded=True) == 0.0


def test_undated_sales_tell_nothing_and_some_undated_ones_do_no_harm() -> None:
    sales = market(0.04)
    days = sales.condition.sold_on
    undated = replace(sales, condition=replace(sales.condition, sold_on=None))
    assert month_variance(fit_of(undated), bounded=True) == 0.0
    blanked = np.where(np.random.default_rng(2).random(sales.rows) < 0.1, np.datetime64("NaT"), days)
    mixed = replace(sales, condition=replace(sales.condition, sold_on=blanked))
    whole, part = (month_variance(fit_of(each), bounded=True) for each in (sales, mixed))
    assert part == pytest.approx(whole, rel=0.5)
