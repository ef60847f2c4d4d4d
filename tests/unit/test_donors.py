"""Donor pairs and stock against every way to pair."""

from __future__ import annotations

import numpy as np
import pytest

from pricing.decisions.donors import DonorPair, PieceUse, best_pairs, best_uses, pair_gains


def all_matchings(units):
    """Yield every set of ordered pairs in which no unit stands twice."""
    if len(units) < 2:
        yield []
        return
    first, rest = units[0], units[1:]
    yield from all_matchings(rest)
    for other in rest:
        left = [unit for unit in rest if unit != other]
        for matching in all_matchings(left):
            yield [(first, other), *matching]
            yield [(other, first), *matching]


@pytest.mark.parametrize("seed", range(20))
def test_the_pairs_are_the_best_of_all_ways_to_pair(seed):
    rng = np.random.default_rng(seed)
    gains = np.round(rng.normal(5, 30, (6, 6)), 2)
    gains[rng.random((6, 6)) < 0.2] = -np.inf
    np.fill_diagonal(gains, -np.inf)
    best = max(sum(max(gains[pair], -1e9) for pair in matching) for matching in all_matchings(list(range(6))))
    pairs = best_pairs(gains)
    assert sum(pair.gain for pair in pairs) == pytest.approx(max(best, 0))
    used = [unit for pair in pairs for unit in (pair.taker, pair.giver)]
    assert len(set(used)) == len(used)
    assert all(pair.gain > 0 for pair in pairs)


@pytest.mark.parametrize("seed", range(10))
def test_with_givers_apart_from_takers_the_assignment_is_the_best_too(seed):
    rng = np.random.default_rng(seed)
    drawn = np.round(rng.normal(5, 30, (6, 6)), 2)
    gains = pair_gains(6, lambda taker, giver: drawn[taker, giver], takers=(0, 1, 2), givers=(3, 4, 5))
    best = max(sum(max(gains[pair], -1e9) for pair in matching) for matching in all_matchings(list(range(6))))
    assert sum(pair.gain for pair in best_pairs(gains)) == pytest.approx(max(best, 0))


def test_a_circle_of_units_is_never_made():
    gains = np.array([[-np.inf, 10.0, -np.inf], [-np.inf, -np.inf, 10.0], [10.0, -np.inf, -np.inf]])
    assert len(best_pairs(gains)) == 1


def test_pairs_without_a_gain_are_left_out():
    assert best_pairs(np.array([[-np.inf, -3.0], [0.0, -np.inf]])) == ()
    assert best_pairs(np.array([[-np.inf, 8.0], [2.0, -np.inf]])) == (DonorPair(0, 1, 8.0),)


def test_a_pair_that_cannot_be_is_never_made():
    gains = pair_gains(2, lambda taker, giver: None if taker == 0 else 4.0, takers=(0, 1), givers=(0, 1))
    assert best_pairs(gains) == (DonorPair(1, 0, 4.0),)


def test_a_piece_on_stock_goes_where_the_sum_of_gains_is_the_largest():
    gains = np.array([[20.0, 5.0], [12.0, -3.0], [-np.inf, -np.inf]])
    assert best_uses(gains) == (PieceUse(0, 0, 20.0),)
    both = np.array([[20.0, 15.0], [12.0, -3.0]])
    assert best_uses(both) == (PieceUse(0, 1, 15.0), PieceUse(1, 0, 12.0))


def test_a_piece_without_a_gain_stays_on_the_shelf():
    assert best_uses(np.array([[0.0], [-4.0]])) == ()
    assert best_uses(np.zeros((0, 3))) == ()
