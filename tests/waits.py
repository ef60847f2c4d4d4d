"""Drawn listings with a known law of the time to sell."""

from __future__ import annotations

import numpy as np

from pricing.decisions.time_to_sell import Waits

CONSTANT, SLOPE, SHAPE = 3.0, 5.0, 1.2


def draw_waits(rng, listings, *, constant=CONSTANT, slope=SLOPE, shape=SHAPE, longest=60.0):
    """Listings that are given up, or still stand, after up to ``longest`` days."""
    over_log = rng.normal(0.0, 0.12, listings)
    full = np.exp(constant + slope * over_log) * rng.weibull(shape, listings)
    given_up = rng.uniform(5.0, longest, listings)
    return Waits(np.minimum(full, given_up), full <= given_up, over_log)
