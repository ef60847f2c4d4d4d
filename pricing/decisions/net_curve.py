"""Net proceeds of many prices at once.

Fees with caps, floors and tiers make the net a chain of straight lines in the price. It is worked out exactly at evenly
spaced prices and drawn straight between them; only round a bend does that differ, by less than a quarter of the step
times the change in slope.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import numpy as np

from pricing.decisions.plan_solve import NetOf
from pricing.records.sales_table import FloatArray

STEPS = 1500


def net_curve(net: Callable[[Decimal], Decimal], highest: float, steps: int = STEPS) -> NetOf:
    """Return a function from prices to what they leave, elementwise.

    Args:
        net: Net proceeds of one price, exact.
        highest: Prices up to this one are looked up; above it the last slope goes on.
        steps: How many steps there are from 0 to ``highest``.
    """
    prices = np.linspace(0.0, max(highest, 1.0), steps + 1)
    nets = np.array([float(net(Decimal(repr(float(price))))) for price in prices])
    slope = (nets[-1] - nets[-2]) / (prices[-1] - prices[-2])

    def net_of(price: FloatArray) -> FloatArray:
        """Return what these prices leave."""
        beyond = np.maximum(price - prices[-1], 0.0)
        return np.asarray(np.interp(price, prices, nets) + slope * beyond)

    return net_of
