"""Two broken ones make a good one: which unit gives its parts to which.

A pair is worth what the mended unit brings over selling both as they are. Each unit is in at most one pair. The best
set of pairs is found exactly: by assignment where givers and takers are different units, and where a unit may be either
by matching, because an assignment could then send parts round in a circle.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import linear_sum_assignment

from pricing.decisions.selection import best_selection
from pricing.records.sales_table import FloatArray

_NO_GAIN = 0.005


@dataclass(frozen=True)
class DonorPair:
    """One unit mended with parts of another; ``gain`` over leaving both as they are, in money."""

    taker: int
    giver: int
    gain: float


def pair_gains(
    units: int, gain_of: Callable[[int, int], float | None], takers: Sequence[int], givers: Sequence[int]
) -> FloatArray:
    """Return the gain of each pair, shape (units, units): row mended, column broken up; minus infinity: impossible.

    Args:
        units: How many there are.
        gain_of: Gain when the first is mended with parts of the second; None: it cannot be.
        takers, givers: Numbers of the units that may be the one and the other.
    """
    gains = np.full((units, units), -np.inf)
    for taker in takers:
        for giver in givers:
            if taker != giver:
                gain = gain_of(taker, giver)
                gains[taker, giver] = -np.inf if gain is None else gain
    return gains


def best_pairs(gains: FloatArray) -> tuple[DonorPair, ...]:
    """Return the pairs with the largest sum of gains, each unit in at most one, the largest gain first.

    Args:
        gains: shape (units, units): row mended, column broken up; pairs without a gain are never made.
    """
    useful = np.where(np.isfinite(gains) & (gains > _NO_GAIN), gains, 0.0)
    takers, givers = useful.max(axis=1, initial=0) > 0, useful.max(axis=0, initial=0) > 0
    chosen = _matched(useful) if bool((takers & givers).any()) else _assigned(useful)
    pairs = [DonorPair(int(taker), int(giver), float(gains[taker, giver])) for taker, giver in chosen]
    return tuple(sorted(pairs, key=lambda pair: (-pair.gain, pair.taker)))


def _assigned(useful: FloatArray) -> list[tuple[int, int]]:
    rows, columns = linear_sum_assignment(useful, maximize=True)
    return [(int(row), int(place)) for row, place in zip(rows, columns, strict=True) if useful[row, place] > 0]


def _matched(useful: FloatArray) -> list[tuple[int, int]]:
    """Return the best matching, as a whole-number programme: of two directions of a pair the better one counts."""
    units = len(useful)
    pairs = [(a, b) for a in range(units) for b in range(a + 1, units) if max(useful[a, b], useful[b, a]) > 0]
    worth = np.array([max(useful[a, b], useful[b, a]) for a, b in pairs])
    once = np.zeros((units, len(pairs)))
    for number, (a, b) in enumerate(pairs):
        once[[a, b], number] = 1
    taken = [pair for pair, chosen in zip(pairs, best_selection(worth, once, 1), strict=True) if chosen]
    return [(a, b) if useful[a, b] >= useful[b, a] else (b, a) for a, b in taken]


@dataclass(frozen=True)
class PieceUse:
    """One piece of the stock in one unit, by their numbers; ``gain`` over the unit's plan without it, in money."""

    unit: int
    piece: int
    gain: float


def best_uses(gains: FloatArray) -> tuple[PieceUse, ...]:
    """Return which piece of the stock goes into which unit, so that the sum of gains is the largest.

    Args:
        gains: shape (units, pieces): what the unit's plan gains with that piece, less what the shop gives up with
            it; minus infinity: it does not fit. Uses without a gain are never made.
    """
    useful = np.where(np.isfinite(gains) & (gains > _NO_GAIN), gains, 0.0)
    uses = [PieceUse(unit, piece, float(gains[unit, piece])) for unit, piece in _assigned(useful)]
    return tuple(sorted(uses, key=lambda use: (-use.gain, use.unit)))
