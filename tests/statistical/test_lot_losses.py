"""Lots bought at the bid lose as often as was accepted, also those that were won against rivals."""

from __future__ import annotations

import numpy as np
import pytest

from pricing.decisions.lot_bid import LotDraws, highest_bid
from pricing.records.lot import LotTerms
from tests.counts import count
from tests.figures import keep
from tests.lots import TERMS, Lot

LOTS = count(20_000)
# 20,000 lots tell 1 point; with fewer, four deviations of a count.
WITHIN = 0.01 if LOTS >= 20_000 else 4 * np.sqrt(0.25 / LOTS)
PLAIN = LotTerms(currency="EUR")


@pytest.mark.parametrize("accepted", [0.05, 0.1, 0.25])
def test_lots_of_another_seed_lose_as_often_as_accepted(accepted):
    lot = Lot()
    bid = highest_bid(lot.draws(1, 20_000), TERMS, accepted=accepted, rivals=0)
    fresh = lot.draws(2, LOTS)
    profit = fresh.net - 18 * fresh.hours - 92 - 1.286 * float(bid.bid.amount)
    assert np.mean(profit < 0) == pytest.approx(accepted, abs=WITHIN)


def won_losses(lot, rivals, accepted, lots, *, shaded=True):
    """Share of lost lots among those won.

    Without fixed costs each bid is a fixed share of the level that its bidder judged, so one set of draws serves all
    bidders; the truth is 0, and what a bidder judges is the truth and an error of their own.
    """
    draws = lot.draws(7, 40_000)
    free = LotDraws(draws.net, np.zeros(len(draws.net)), draws.level)
    share = float(highest_bid(free, PLAIN, accepted=accepted, rivals=rivals if shaded else 0).bid.amount)
    rng = np.random.default_rng([8, rivals])
    found = []
    while len(found) < lots:
        judged = lot.error * rng.standard_normal((lots, rivals + 1))
        won = judged[:, 0] == judged.max(axis=1)
        net, _ = lot.worth(rng, np.zeros(int(won.sum())))
        found += (net < share * np.exp(judged[won, 0])).tolist()
    return np.mean(found[:lots])


@pytest.mark.parametrize("rivals", range(1, 9))
def test_lots_won_against_rivals_lose_as_often_as_accepted(rivals):
    lost = won_losses(Lot(), rivals, 0.1, LOTS)
    keep(f"lots_won_{rivals}", f"{LOTS} lots won against {rivals} rivals, 10% accepted: {lost:.2%} lose.")
    assert lost == pytest.approx(0.1, abs=WITHIN)


def test_without_shading_lots_won_lose_far_more_often():
    assert won_losses(Lot(), 4, 0.1, LOTS, shaded=False) > 0.2


def test_with_fixed_costs_and_levels_of_all_sizes_lots_won_lose_as_often_as_accepted():
    """Here bids are no fixed share, so each lot has a level of its own, drawn evenly over a wide range."""
    lot, rivals, accepted, rng = Lot(units=6), 3, 0.1, np.random.default_rng(9)
    lots = count(4000)
    grid = np.linspace(-1.5, 2.5, 25)
    bids = [
        float(highest_bid(lot.draws(10, 20_000, at), TERMS, accepted=accepted, rivals=rivals).bid.amount) for at in grid
    ]
    losses = []
    while len(losses) < lots:
        level = rng.uniform(-0.5, 1.5, lots)
        judged = level[:, None] + lot.error * rng.standard_normal((lots, rivals + 1))
        won = judged[:, 0] == judged.max(axis=1)
        net, hours = lot.worth(rng, level[won])
        bid = np.interp(judged[won, 0], grid, bids)
        losses += (net - 18 * hours - 92 < 1.286 * bid).tolist()
    assert np.mean(losses[:lots]) == pytest.approx(accepted, abs=0.015 if lots >= 4000 else 0.05)
