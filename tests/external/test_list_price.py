"""Best prices in closed form: Gallego and van Ryzin (1994), Management Science 40(8):999-1020, section 2.3.

Buyers come at a rate of a exp(-alpha p) a day. With n units and t days,
J(n, t) = ln(sum over i from 0 to n of (a t / e)^i / i!) / alpha and p*(n, t) = J(n, t) - J(n - 1, t) + 1 / alpha.
Without end and with a cost of h a day (derived): V = (ln(a / (alpha h)) - 1) / alpha, p* = V + 1 / alpha, mean wait
1 / (alpha h). That there is a closed form was read there; the formula is from memory, its figures were checked by
another solver. Where alpha is 1, prices here are in thousandths, so that whole cents are fine enough.
"""

from __future__ import annotations

import numpy as np
import pytest

from pricing.decisions.asking import best_ask
from pricing.decisions.price_steps import best_steps, stock_values
from tests.offerings import demand

E = np.e


@pytest.mark.parametrize(
    ("units", "days", "rate", "alpha", "value", "price"),
    [
        (1, E, 1, 0.001, 693.147181, 1693.147181),
        (2, E, 1, 0.001, 916.290732, 1223.143551),
        (1, 1, 1, 0.001, 313.261688, 1313.261688),
        (1, 30, 0.5, 0.02, 93.729848909, 143.729848909),
        (10, 1, 40, 0.001, 12697.616403, 1512.868357),
        (20, 1, 40, 0.001, 14640.859544, 1041.663599),
    ],
)
def test_units_alike_until_a_last_day_have_the_closed_form(units, days, rate, alpha, value, price):
    values = stock_values(demand(rate, alpha, patience=days), units, about=1.6 / alpha)
    assert values[units] == pytest.approx(value, rel=2e-5)
    assert values[units] - values[units - 1] + 1 / alpha == pytest.approx(price, rel=2e-5)


@pytest.mark.parametrize(
    ("days", "rate", "alpha", "value", "price"),
    [(E, 1, 0.001, 693.147181, 1693.147181), (30, 0.5, 0.02, 93.729848909, 143.729848909)],
)
def test_many_short_steps_come_to_the_closed_form(days, rate, alpha, value, price):
    steps = best_steps(demand(rate, alpha, patience=days), 1 / alpha, days / 360)
    assert steps.values[0] == pytest.approx(value, rel=1e-4)
    # A step's ask is the best on average over the step, so the first is a little below that of the first moment.
    assert steps.asks[0] == pytest.approx(price, rel=2e-3)
    assert steps.values[0] < value


def test_without_end_the_best_ask_has_the_closed_form():
    offering = demand(0.5, 0.02, holding=1.0)
    best = np.array([best_ask(offering, 100)])
    assert best[0] == pytest.approx(160.943791, abs=0.01)
    assert float(offering.waiting.mean_days(best, np.inf)[0]) == pytest.approx(50, abs=0.01)
    assert float(offering.expected(best)[0]) == pytest.approx(110.943791, abs=1e-5)
    assert best[0] - 50 == pytest.approx(110.943791, abs=0.01)


def test_the_price_falls_with_the_stock_and_rises_with_the_days():
    values = [stock_values(demand(1, 0.001, patience=days), 4, about=1600) for days in (1.0, 3.0, 9.0)]
    prices = np.array([np.diff(each) + 1000 for each in values])
    assert (np.diff(prices, axis=1) < 0).all()
    assert (np.diff(prices, axis=0) > 0).all()
    assert (prices > 1000).all()
