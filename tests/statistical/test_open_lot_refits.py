"""Bids for lots that nobody tested: what buyers lose on them, alone and among rivals, over many markets.

As in ``test_lot_refits``, but of several functions of each unit nothing is known, and units may be missing or swapped.
Each market has rates of its own, drawn as the bid believes: Dirichlet(weight * believed shares). Each shop knows them
only from a history of its own, and prices only from sales of its own. Rivals share the belief, not the history; the bid
takes it that they share nothing, so that losses on lots won may lie below what was accepted, never above.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from api.settings import Settings
from api.shop.lot_states import with_states
from api.shop.lots import LotWish, bid_for_lot
from api.shop.shop import Shop
from data.demo.generate import generate, make_truth
from data.demo.value import true_median_log, true_spread_log
from pricing.decisions.lot_rates import (
    MISSING,
    SWAPPED,
    UnknownFunction,
    believed_statuses,
    believed_units,
    draw_states,
)
from pricing.hedonic.fit import FitSettings, fit_model
from pricing.records.lot import LotTerms
from pricing.records.lot_rates import FaultCounts, FaultShares, LotHistory, LotRates
from pricing.records.sales_table import TextColumn
from tests.counts import count
from tests.figures import keep

SHOPS, LOTS, UNITS, SALES, ACCEPTED = 4, 6, 6, 1200, 0.1
MARKETS = max(count(144) // SHOPS, 10)
FOUND = 60
KINDS = ("bought at the bid", "won against rivals", "won without shading")
OPEN = (
    "power_on", "picture_out", "disc_drive", "controller_pairing", "fan_cooling", "wifi", "controller_sticks", "usb",
)  # fmt: skip
USUAL = FaultShares(dead=0.1, impaired=0.1)
RATES = LotRates(missing=0.05, swapped=0.05, locked=0.0, gates=USUAL, functions=USUAL, weight=20)
SIMPLE = FitSettings(interactions=False, trees=False)
NOW = datetime(2026, 6, 30, tzinfo=UTC)


def true_shares(rng, functions):
    """The rates of one market, drawn as the bid believes."""
    units = rng.dirichlet(np.maximum(RATES.weight * believed_units(RATES), 1e-9))
    return units, {f.name: rng.dirichlet(RATES.weight * believed_statuses(RATES, f)) for f in functions}


def history_of(rng, units, shares):
    """What one shop found in units of its own."""
    _, missing, swapped, locked = rng.multinomial(FOUND, units)
    counts = {name: FaultCounts(**dict(zip(("works", "impaired", "dead"), map(int, rng.multinomial(FOUND, share)),
                                           strict=True))) for name, share in shares.items()}  # fmt: skip
    return LotHistory(units=FOUND, missing=missing, swapped=swapped, locked=locked, functions=counts)


def described_lots(truth, device_class, seed):
    """Units as a lot's description has them: sound, and of the open functions nothing is known."""
    fresh = generate(10_000 + seed, rows={"console": LOTS * UNITS}, truth=truth).complete["console"]
    rows = fresh.rows
    faults = {}
    for function in device_class.functions:
        known = fresh.faults.get(function.name)
        fitted = np.ones(rows, dtype=bool) if known is None else ~np.isin(
            known.codes, [code for code, level in enumerate(known.levels) if level == "not fitted"]
        )  # fmt: skip
        word = "untested" if function.name in OPEN else "works"
        faults[function.name] = TextColumn(np.where(fitted, 0, 1).astype(np.int32), (word, "not fitted"))
    day = np.full(rows, np.datetime64(truth.last_day, "D"))
    return replace(fresh, faults=faults, sold_as=None, sold_on=day)


def worth_of(rng, truth, device_class, described, rates):
    """What each lot brings, with states drawn at the true rates of its market."""
    units, shares = rates
    certain = LotRates(missing=units[1], swapped=units[2], locked=0, weight=100_000, own={
        name: FaultShares(impaired=share[1], dead=share[2]) for name, share in shares.items()
    })  # fmt: skip
    fitted = {n: described.faults[n].codes == 0 for n in OPEN}
    functions = tuple(UnknownFunction(name, gate=False, unknown=fitted[name]) for name in OPEN)
    seed = int(rng.integers(1 << 30))
    states = draw_states(certain, LotHistory(), functions, units=described.rows, draws=1, seed=seed)
    table = with_states(device_class, described, states)
    median_log = true_median_log(truth, device_class, table, np.zeros(table.rows, dtype=bool))
    price = np.exp(median_log + rng.normal(0.0, true_spread_log(truth, device_class, table)))
    worth = np.where(states.unit[0] == MISSING, 0.0, np.where(states.unit[0] == SWAPPED, RATES.swapped_worth, 1.0))
    return (worth * price).reshape(LOTS, UNITS).sum(axis=1)


def market(shop, seed):
    rng = np.random.default_rng([5, seed])
    truth = make_truth(seed, classes=("console",), redraw_brands=True)
    goods = [generate(20_000 + SHOPS * seed + each, rows={"console": SALES}, truth=truth) for each in range(SHOPS)]
    device_class = goods[0].device_classes["console"]
    functions = tuple(UnknownFunction(name, gate=False, unknown=np.ones(1, dtype=bool)) for name in OPEN)
    rates = true_shares(rng, functions)
    described = described_lots(truth, device_class, seed)
    worth = worth_of(rng, truth, device_class, described, rates)
    bids = np.empty((SHOPS, LOTS, 2))
    for each, sold in enumerate(goods):
        model = fit_model(sold.tables["console"], device_class, settings=SIMPLE)
        history = history_of(rng, *rates)
        for lot in range(LOTS):
            units = described.take(np.arange(lot * UNITS, (lot + 1) * UNITS))
            wish = LotWish(LotTerms(currency="EUR"), accepted=ACCEPTED, rivals=SHOPS - 1, rates=RATES, history=history,
                           on=truth.last_day, seed=seed, always=True)  # fmt: skip
            found = bid_for_lot(shop, model, units, wish)
            bids[each, lot] = float(found.unshaded.amount), float(found.bid.amount)
    bought = float(np.mean(worth < bids[:, :, 0]))
    return bought, float(np.mean(worth < bids[:, :, 1].max(axis=0))), float(np.mean(worth < bids[:, :, 0].max(axis=0)))


@pytest.fixture(scope="module")
def markets(tmp_path_factory):
    shop = Shop(Settings(home=tmp_path_factory.mktemp("home")), now=lambda: NOW)
    found = np.array([market(shop, seed) for seed in range(MARKETS)])
    error = np.std(found, axis=0, ddof=1) / np.sqrt(MARKETS)
    rows = zip(found.mean(axis=0), error, KINDS, strict=True)
    lost = ", ".join(f"{share:.1%} (+-{one:.1%}) of those {which}" for share, one, which in rows)
    asked = f"{MARKETS} markets, {SHOPS} shops and {LOTS} lots each, {ACCEPTED:.0%} accepted"
    keep("lots_untested", f"{asked}: lost {lost}.")
    return found


def within(shares):
    """Two points and three deviations of what so many markets can tell."""
    return 0.02 + 3 * float(np.std(shares, ddof=1) / np.sqrt(len(shares)))


def test_untested_lots_bought_at_the_bid_lose_as_often_as_accepted_on_average(markets):
    assert markets[:, 0].mean() == pytest.approx(ACCEPTED, abs=within(markets[:, 0]))


def test_untested_lots_won_against_rivals_lose_no_more_often_than_accepted(markets):
    assert markets[:, 1].mean() < ACCEPTED + within(markets[:, 1])


def test_without_shading_untested_lots_won_would_lose_more_often(markets):
    assert markets[:, 2].mean() > markets[:, 1].mean() + 0.03
