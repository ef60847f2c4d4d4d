"""Bids by fitted models: over many markets, lots bought at the bid lose as often as accepted, won ones too.

Each market has a truth of its own. Several shops each fit a model to sales of their own from it, and all judge the
same fresh lots, of which they know what sellers of such units tell. A shop that buys every lot at its own bid without
rivals in mind shows whether the draws are right; the shop with the highest of the bids that reckon with rivals shows
whether the shading is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from data.demo.generate import generate, make_truth
from pricing.decisions.lot_bid import LotDraws, highest_bid
from pricing.estimation.draws import own_scores, unseen_effects
from pricing.estimation.effect_draws import normal_draws
from pricing.hedonic.fit import FitSettings, fit_model
from pricing.hedonic.model import money
from pricing.records.lot import LotTerms
from tests.counts import count
from tests.figures import keep

SHOPS, LOTS, UNITS, SALES, DRAWS = 4, 50, 6, 1200, 2000
REFITS = max(count(400), 2 * SHOPS)
ACCEPTED = 0.1
PLAIN = LotTerms(currency="EUR")
SIMPLE = FitSettings(interactions=False, trees=False)


@dataclass(frozen=True)
class Market:
    """Lost shares of one market: of all lots at each shop's own bid, and of lots won."""

    bought: tuple[float, ...]
    won: float


def judged(model, table, seed):
    """Joint draws of net and level of each lot of a model, shape (draws, lots) each."""
    rng = np.random.default_rng(seed)
    found = model.predict(table)
    raw = model.design.rows(found.read)
    rows = raw.to_dense()
    common = normal_draws(rng, model.effect_sigma2 * (rows @ model.inverse @ rows.T), DRAWS)
    common += unseen_effects(model, found, rng, DRAWS)
    own = np.sqrt(model.sigma2 * model.spread.shares(raw))
    price = money(found.mean + common + own * own_scores(model, rng, common.shape))
    by_lot = (DRAWS, LOTS, UNITS)
    return price.reshape(by_lot).sum(axis=2), money(found.mean + common).reshape(by_lot).sum(axis=2)


def bids_of(model, table, seed, rivals):
    net, level = judged(model, table, seed)
    bids = []
    for lot in range(LOTS):
        draws = LotDraws(net[:, lot], np.zeros(DRAWS), level[:, lot])
        bids.append(float(highest_bid(draws, PLAIN, accepted=ACCEPTED, rivals=rivals).bid.amount))
    return np.array(bids)


def market(seed):
    truth = make_truth(seed, classes=("console",), redraw_brands=True)
    fresh = generate(10_000 + seed, rows={"console": 2 * LOTS * UNITS}, truth=truth)
    paid = np.flatnonzero(~fresh.tables["console"].asked)
    chosen = np.random.default_rng(seed).permutation(paid)[: LOTS * UNITS]
    sales = fresh.tables["console"].take(chosen)
    table, price = sales.condition, sales.price
    worth = price.reshape(LOTS, UNITS).sum(axis=1)
    alone, against = [], []
    for shop in range(SHOPS):
        goods = generate(20_000 + SHOPS * seed + shop, rows={"console": SALES}, truth=truth)
        model = fit_model(goods.tables["console"], goods.device_classes["console"], settings=SIMPLE)
        dated = model.dated(table, None)
        alone.append(bids_of(model, dated, seed, 0))
        against.append(bids_of(model, dated, seed, SHOPS - 1))
    bought = tuple(float(np.mean(worth < bids)) for bids in alone)
    return Market(bought, float(np.mean(worth < np.max(against, axis=0))))


@pytest.fixture(scope="module")
def markets():
    found = [market(seed) for seed in range(REFITS // SHOPS)]
    bought, won = np.mean([each.bought for each in found]), np.mean([each.won for each in found])
    lost = f"{bought:.1%} of lots bought lose, {won:.1%} of those won"
    keep("lots_refits", f"{REFITS} refits, {LOTS} lots each, {ACCEPTED:.0%} accepted: {lost}.")
    return found


def within(shares):
    """Two points; with few markets, three deviations of their mean."""
    return max(0.02, 3 * float(np.std(shares, ddof=1) / np.sqrt(len(shares)))) if REFITS < 400 else 0.02


def test_lots_bought_at_the_bid_lose_as_often_as_accepted_on_average(markets):
    shares = [np.mean(each.bought) for each in markets]
    assert np.mean(shares) == pytest.approx(ACCEPTED, abs=within(shares))


def test_lots_won_against_rivals_with_sales_of_their_own_lose_as_often_as_accepted(markets):
    shares = [each.won for each in markets]
    assert np.mean(shares) == pytest.approx(ACCEPTED, abs=within(shares))
