"""Net proceeds of many prices, against the exact net of each."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from pricing.decisions.net_curve import net_curve


def capped(price: Decimal) -> Decimal:
    """A tenth of the price, at least 3 and at most 20."""
    return price - min(max(price / 10, Decimal(3)), Decimal(20))


def test_between_the_looked_up_prices_the_net_is_within_a_quarter_step_of_a_bend():
    prices = np.random.default_rng(1).uniform(0, 400, 500)
    exact = [float(capped(Decimal(repr(float(price))))) for price in prices]
    highest, steps = 400, 1500
    found = net_curve(capped, highest, steps)(prices)
    assert np.abs(found - exact).max() < 0.1 * highest / steps / 4 + 1e-9


def test_above_the_highest_price_the_last_slope_goes_on():
    assert net_curve(capped, 300)(np.array([1000.0]))[0] == pytest.approx(980.0)


def test_the_shape_of_the_prices_is_kept():
    assert net_curve(capped, 100)(np.ones((3, 2))).shape == (3, 2)
