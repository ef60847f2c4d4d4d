"""Prices of sales to come: computers of the months after each origin, priced by a model of the months before.

``ads`` counts a month's advertisements and is not known before the month ends, so it is left out. The months are
numbered from January 1993; every sale is put on its month's first day. By default without interactions and trees,
because choosing them at every origin takes minutes.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from pricing.estimation.estimate import estimate_columns
from pricing.hedonic.fit import CORE, FitSettings, fit_model
from pricing.records.sales_table import SalesTable
from tests.counts import count
from tests.external.frames import class_of, sales_of
from tests.external.real_data.five_fold import SETS
from tests.figures import keep

FIRST_MONTH = np.datetime64("1993-01", "M")
FIRST_ORIGIN, AHEAD = 12, 3
LEVEL = 80
SETTINGS = FitSettings() if count(1000) == 1000 else CORE


@cache
def dated_sales() -> tuple[SalesTable, np.ndarray]:
    """Return all sales with their days, and the number of each one's month."""
    frame = SETS["computers"]().drop(columns="ads")
    month = frame.pop("trend").to_numpy(int)
    sales = sales_of(frame)
    days = (FIRST_MONTH + (month - 1)).astype("datetime64[D]")
    return replace(sales, condition=replace(sales.condition, sold_on=days)), month


@cache
def shares_covered() -> dict[int, float]:
    """Return the share of the next three months' prices that the intervals held, by origin."""
    sales, month = dated_sales()
    device_class = class_of(SETS["computers"]().drop(columns=["ads", "trend"]))
    found = {}
    for origin in range(FIRST_ORIGIN, int(month.max()) - AHEAD + 1):
        model = fit_model(sales.take(np.flatnonzero(month <= origin)), device_class, settings=SETTINGS)
        ahead = sales.take(np.flatnonzero((month > origin) & (month <= origin + AHEAD)))
        told = estimate_columns(model, ahead.condition, always=True)
        found[origin] = float(np.mean((told.low[LEVEL] <= ahead.price) & (ahead.price <= told.high[LEVEL])))
    return found


def test_sales_of_the_next_three_months_are_covered_on_average() -> None:
    shares = shares_covered()
    worst = min(shares, key=shares.__getitem__)
    lines = [f"{LEVEL} % intervals of the next {AHEAD} months cover {100 * np.mean(list(shares.values())):.1f} %",
             f"on average over {len(shares)} origins; worst: {100 * shares[worst]:.1f} % from month {worst}.", "",
             "| months known | covered, % |", "|---|---|",
             *(f"| {origin} | {100 * share:.1f} |" for origin, share in shares.items())]  # fmt: skip
    keep("future_sales", "\n".join(lines))
    assert np.mean(list(shares.values())) >= 0.77


def test_an_interval_widens_with_the_months_beyond_the_last_sale() -> None:
    sales, month = dated_sales()
    device_class = class_of(SETS["computers"]().drop(columns=["ads", "trend"]))
    model = fit_model(sales.take(np.flatnonzero(month <= FIRST_ORIGIN)), device_class, settings=SETTINGS)
    one = sales.condition.take(np.zeros(AHEAD + 1, dtype=np.intp))
    days = (FIRST_MONTH + FIRST_ORIGIN - 1 + np.arange(AHEAD + 1)).astype("datetime64[D]")
    told = estimate_columns(model, replace(one, sold_on=days), always=True)
    widths = np.log(told.high[LEVEL] / told.low[LEVEL])
    assert (np.diff(widths) > 0).all()
