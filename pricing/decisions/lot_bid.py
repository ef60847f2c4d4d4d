"""The most to bid for a lot: the hammer price at which the chance of losing money is what the user accepts.

In draw k the lot brings V(k), its units need B(k) at the bench, and a hammer price b costs b s + f with
s = 1 + tax + premium (1 + its tax) + import (1 + premium) and f all that does not depend on the price. So draw k breaks
even at m(k) = (V(k) - B(k) - f) / s, loses when b > m(k), and the bid is a quantile of m.

Winning is bad news. Each rival judges the same lot with an error of their own, as large as ours, and the highest
judgement wins. The lower the lot's own level in draw k (what it is worth but for luck that nobody can foresee), the
more we overrated it there, and the likelier we won: with the share u(k) of draws of a higher level, and rivals who bid
by the same rule, that chance is u(k)^rivals. The quantile is taken of the draws so weighted. That the rivals' errors
have nothing in common with ours is the cautious end: what all bidders overrate alike is no news of winning. A lot's
level moves with the rates of faults too, and bidders who share a belief in them overrate alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal

import numpy as np
from scipy import stats

from pricing.errors import BadInput, Problem
from pricing.records.lot import BidPoint, LotBid, LotTerms
from pricing.records.money import Money, minor_unit, money_from_float
from pricing.records.sales_table import FloatArray

MOST_RIVALS = 50
FEWEST_DRAWS = 500
_FEWEST_BELOW = 5
_CENTLESS = 1e-9
_SHARES = (0.0, 0.25, 0.5, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.35, 1.5)


@dataclass(frozen=True, eq=False)
class LotDraws:
    """Joint draws of what a lot brings; the model's error is shared by its units.

    Attributes:
        net: What its units bring when sold, after fees, tax and postage, shape (draws,).
        hours: At the bench for the units that are there, shape (draws,).
        level: What the lot would be worth but for luck, shape (draws,): it differs between draws by the error of the
            one who judges it. Only its order counts.
    """

    net: FloatArray
    hours: FloatArray
    level: FloatArray


@dataclass(frozen=True, eq=False)
class _Prospect:
    """The draws of one lot, ready for any price."""

    terms: LotTerms
    gross: FloatArray
    weights: FloatArray

    @property
    def slope(self) -> float:
        """What each unit of hammer price costs in all."""
        return float(cost_for_each(self.terms))

    def quantile(self, share: float) -> float:
        """Return the highest hammer price at which at most this share loses; below 0 when a gift would lose."""
        breaking_even = self.gross / self.slope
        order = np.argsort(breaking_even, kind="stable")
        below = np.cumsum(self.weights[order])
        # A share that rounding puts a hair above the accepted one is the accepted one.
        place = int(np.searchsorted(below, share + 1e-12, side="right"))
        return float(breaking_even[order[min(place, len(order) - 1)]])

    def at(self, hammer: Decimal, hours: float) -> BidPoint:
        """Return what is to be expected at a hammer price; ``hours`` is the mean cost at the bench."""
        profit = self.gross - float(hammer) * self.slope
        order = np.argsort(profit, kind="stable")
        below = np.cumsum(self.weights[order])
        low, high = (float(profit[order[min(int(np.searchsorted(below, at)), len(order) - 1)]]) for at in (0.1, 0.9))
        currency = self.terms.currency
        cost = fixed_cost(self.terms) + hammer * cost_for_each(self.terms)
        return BidPoint(
            hammer=Money(amount=hammer, currency=currency),
            cost=money_from_float(float(cost) + hours, currency),
            loss=min(float(self.weights[profit < -_CENTLESS].sum()), 1.0),
            profit=money_from_float(float(profit @ self.weights), currency),
            low_80=money_from_float(low, currency),
            high_80=money_from_float(high, currency),
        )


def cost_for_each(terms: LotTerms) -> Decimal:
    """Return what each unit of hammer price costs in all: 1.25 when a quarter comes on top."""
    premium = terms.premium_percent / 100
    taxes = terms.hammer_tax_percent / 100 + premium * terms.premium_tax_percent / 100
    return (1 + premium) * (1 + terms.import_percent / 100) + taxes


def fixed_cost(terms: LotTerms) -> Decimal:
    """Return what is paid whatever the hammer price, without the bench."""
    return terms.fixed + terms.carriage


def win_weights(level: FloatArray, rivals: int) -> FloatArray:
    """Return how likely each draw is, given that we won against so many rivals, shape (draws,); they sum to 1."""
    rank = stats.rankdata(level, method="average")
    higher = (len(level) - rank + 0.5) / len(level)
    weights = higher**rivals
    return np.asarray(weights / weights.sum())


def highest_bid(draws: LotDraws, terms: LotTerms, *, accepted: float, rivals: int) -> LotBid:
    """Return the most to bid for a lot, as a hammer price in whole minor units.

    Args:
        draws: At least 500 joint draws, in the currency of the terms.
        terms: What comes on top of the hammer price.
        accepted: Chance of losing money that is accepted, above 0 and below 1.
        rivals: How many others bid; 0: the price is ours if we want it.

    Raises:
        BadInput: A figure is out of its range, or there are too few draws.
    """
    _check(draws, accepted, rivals)
    bench = draws.hours * float(terms.hour_cost)
    gross = draws.net - bench - float(fixed_cost(terms))
    even = np.full(len(gross), 1 / len(gross))
    won = _Prospect(terms, gross, win_weights(draws.level, rivals) if rivals else even)
    unshaded = _whole(_Prospect(terms, gross, even).quantile(accepted), terms.currency)
    bid = min(_whole(won.quantile(accepted), terms.currency), unshaded)
    hours = float(bench @ won.weights)
    reference = bid or unshaded or _whole(float(max(gross.mean() / won.slope, 0.0)), terms.currency)
    hammers = sorted({_whole(float(reference) * share, terms.currency) for share in _SHARES})
    return LotBid(
        bid=Money(amount=bid, currency=terms.currency),
        accepted=accepted,
        rivals=rivals,
        unshaded=Money(amount=unshaded, currency=terms.currency),
        at_bid=won.at(bid, hours),
        curve=tuple(won.at(hammer, hours) for hammer in hammers),
        worth=money_from_float(float(draws.net.mean()), terms.currency),
        draws=len(gross),
        assumes=_assumes(rivals),
    )


def _assumes(rivals: int) -> tuple[str, ...]:
    told = [
        "all units of the lot are judged with the same error of the model",
        "units that nobody tested turn out as the rates say; faults of one unit come independently of each other",
        "what is spent on repairs, and the days until all is sold, are not counted",
    ]
    if rivals:
        told.append(
            f"{rivals} rivals judge prices and rates of faults as well as this model, with errors of their own, "
            "and bid by the same rule; "
            "winning means that ours was the highest judgement"
        )
    else:
        told.append("nobody else bids: being sold the lot says nothing about it")
    return tuple(told)


def _whole(amount: float, currency: str) -> Decimal:
    """Return an amount, at least 0, in whole minor units, never more."""
    unit = minor_unit(currency)
    steps = (Decimal(repr(max(amount, 0.0))) / unit).to_integral_value(ROUND_FLOOR)
    return (steps * unit).quantize(unit)


def _check(draws: LotDraws, accepted: float, rivals: int) -> None:
    """Let pass what can be answered.

    Raises:
        BadInput: It cannot.
    """
    if not 0 < accepted < 1:
        raise _refused("accepted", f"{accepted:g}", "a chance of loss above 0 and below 1")
    if not 0 <= rivals <= MOST_RIVALS:
        raise _refused("rivals", str(rivals), f"0 to {MOST_RIVALS}")
    if len(draws.net) < FEWEST_DRAWS:
        raise _refused("draws", str(len(draws.net)), f"at least {FEWEST_DRAWS}")
    # Below this share lie the draws that decide; fewer than five of them would be luck of the draws.
    least = 1 - (1 - accepted) ** (1 / (rivals + 1))
    if least * len(draws.net) < _FEWEST_BELOW:
        needed = int(np.ceil(_FEWEST_BELOW / least))
        raise _refused("draws", str(len(draws.net)), f"at least {needed} for this chance and so many rivals")


def _refused(column: str, found: str, expected: str) -> BadInput:
    problem = Problem("lot", None, column, found, expected)
    return BadInput(str(problem), (problem,))
