"""Intervals of the time to sell hold the truth as often as they say, and dropping the unsold breaks them."""

from __future__ import annotations

import numpy as np
import pytest

from pricing.decisions.time_to_sell import fit_weibull
from tests.counts import count
from tests.figures import keep
from tests.waits import CONSTANT, SHAPE, SLOPE, draw_waits

SEEDS = count(1000)
TRUTH = np.array([CONSTANT, SLOPE, -np.log(SHAPE)])
# 100 seeds cannot tell 95 from 92 percent: there the bounds are three deviations of a count wide.
WITHIN = 0.015 if SEEDS >= 1000 else 3 * np.sqrt(0.95 * 0.05 / SEEDS)


def covered(seed, *, dropping=False, listings=400):
    """Whether the 95 percent interval of each parameter holds its truth."""
    waits = draw_waits(np.random.default_rng([seed, 11]), listings)
    rows = waits.sold if dropping else np.ones(listings, dtype=bool)
    columns = np.column_stack([np.ones(listings), waits.over_log])[rows]
    fit = fit_weibull(waits.days[rows], waits.sold[rows], columns)
    found = np.append(fit.effects, fit.spread_log)
    return np.abs(found - TRUTH) <= 1.959964 * np.sqrt(np.diag(fit.covariance))


@pytest.fixture(scope="module")
def shares():
    found = np.mean([covered(seed) for seed in range(SEEDS)], axis=0)
    constant, slope, spread = found
    shares = f"constant {constant:.1%}, slope {slope:.1%}, ln spread {spread:.1%}"
    keep("time_to_sell", f"{SEEDS} seeds, 95 % intervals cover: {shares}.")
    return found


def test_about_half_of_the_drawn_listings_are_unsold():
    sold = draw_waits(np.random.default_rng(1), 20_000).sold.mean()
    assert 0.5 < sold < 0.8


@pytest.mark.parametrize(("place", "name"), [(0, "constant"), (1, "slope"), (2, "ln spread")])
def test_95_percent_intervals_hold_the_truth_in_95_of_100_seeds(shares, place, name):
    assert shares[place] == pytest.approx(0.95, abs=WITHIN), name


def test_without_the_unsold_the_constant_is_hardly_ever_held():
    assert np.mean([covered(seed, dropping=True)[0] for seed in range(20)]) < 0.2
