from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from pricing.decisions.lot_bid import LotDraws, cost_for_each, highest_bid, win_weights
from pricing.errors import BadInput
from pricing.records.lot import LotTerms
from tests.lots import TERMS, Lot

PLAIN = LotTerms(currency="EUR")


def certain(net, hours=0.0, draws=1000):
    return LotDraws(np.full(draws, net), np.full(draws, hours), np.ones(draws))


def test_each_euro_of_hammer_price_carries_premium_its_tax_and_import():
    assert cost_for_each(TERMS) == Decimal("1.2") * Decimal("1.03") + Decimal("0.05")
    assert cost_for_each(PLAIN) == 1


def test_what_is_certain_is_bid_to_the_last_cent_after_all_costs():
    found = highest_bid(certain(1000, hours=6), TERMS, accepted=0.1, rivals=3)
    exact = (1000 - 6 * 18 - 92) / 1.286
    assert float(found.bid.amount) == pytest.approx(exact, abs=0.01)
    assert found.bid.amount <= Decimal(exact)
    assert found.bid.amount.as_tuple().exponent == -2
    assert float(found.at_bid.cost.amount) == pytest.approx(1000, abs=0.02)
    assert found.at_bid.loss == 0


@pytest.mark.parametrize("accepted", [0.02, 0.1, 0.3, 0.5])
def test_the_bid_is_the_highest_price_whose_chance_of_loss_is_accepted(accepted):
    draws = Lot().draws(1, 2000)
    found = highest_bid(draws, TERMS, accepted=accepted, rivals=0)
    left = draws.net - 18 * draws.hours - 92
    bid, slope = float(found.bid.amount), 1.286
    assert np.mean(left < bid * slope) <= accepted < np.mean(left < (bid + 0.02) * slope) + 1e-9
    assert found.at_bid.loss == pytest.approx(np.mean(left < bid * slope))
    assert float(found.at_bid.profit.amount) == pytest.approx(np.mean(left) - bid * slope, abs=0.01)


def test_more_rivals_never_raise_the_bid():
    draws = Lot().draws(2, 4000)
    bids = [highest_bid(draws, TERMS, accepted=0.1, rivals=rivals).bid.amount for rivals in range(9)]
    assert bids == sorted(bids, reverse=True)
    assert bids[8] < bids[1] < bids[0]
    assert highest_bid(draws, TERMS, accepted=0.1, rivals=5).unshaded.amount == bids[0]


def test_with_equal_rivals_the_level_given_a_win_is_the_lowest_of_all_judgements():
    level = np.random.default_rng(3).standard_normal(20_000)
    weights = win_weights(level, 3)
    lowest = np.random.default_rng(4).standard_normal((200_000, 4)).min(axis=1)
    assert weights.sum() == pytest.approx(1)
    assert level @ weights == pytest.approx(lowest.mean(), abs=0.02)


def test_where_all_is_luck_that_nobody_foresees_winning_is_no_news():
    draws = Lot(error=0.0).draws(5, 4000)
    alone, contested = (highest_bid(draws, TERMS, accepted=0.1, rivals=rivals) for rivals in (0, 6))
    assert contested.bid == alone.bid


def test_a_lot_that_loses_even_as_a_gift_is_bid_0_and_says_how_often_it_loses():
    found = highest_bid(certain(50), TERMS, accepted=0.1, rivals=0)
    assert (found.bid.amount, found.at_bid.loss) == (0, 1)
    assert found.at_bid.profit.amount == Decimal("-42.00")
    assert len(found.curve) >= 1


def test_along_the_curve_loss_rises_and_profit_falls():
    found = highest_bid(Lot().draws(6, 2000), TERMS, accepted=0.1, rivals=2)
    losses = [point.loss for point in found.curve]
    profits = [point.profit.amount for point in found.curve]
    assert losses == sorted(losses)
    assert profits == sorted(profits, reverse=True)
    assert found.at_bid in found.curve
    for point in found.curve:
        assert point.low_80.amount <= point.profit.amount <= point.high_80.amount


@pytest.mark.parametrize(
    ("wrong", "column"),
    [({"accepted": 0.0}, "accepted"), ({"accepted": 1.0}, "accepted"), ({"accepted": -0.1}, "accepted"),
     ({"accepted": float("nan")}, "accepted"), ({"rivals": -1}, "rivals"), ({"rivals": 51}, "rivals"),
     ({"accepted": 0.001}, "draws")],
)  # fmt: skip
def test_what_cannot_be_answered_is_refused(wrong, column):
    with pytest.raises(BadInput, match=f"lot, {column}: found"):
        highest_bid(certain(100), PLAIN, **{"accepted": 0.1, "rivals": 0, **wrong})


def test_too_few_draws_are_refused():
    with pytest.raises(BadInput, match="found 400; expected at least 500"):
        highest_bid(certain(100, draws=400), PLAIN, accepted=0.1, rivals=0)
