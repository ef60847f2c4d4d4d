"""The answer to an offer: take it, name another price, or wait for somebody else.

Expected net of a counter at price c, taken with chance q: q * net(c) + (1 - q) * rest, where the rest is the better of
the offer and waiting as far as the buyer's offer still stands, and waiting otherwise. What the unit has cost so far
plays no part: it is spent whatever the answer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal

from pricing.decisions.lowest_price import lowest_price
from pricing.decisions.proceeds import SaleTerms, net_proceeds
from pricing.errors import BadInput, Problem
from pricing.records.money import Money, minor_unit, rounded
from pricing.records.proceeds import CounterOffer, OfferAnswer

SUPPOSED = (
    "the chance that a counter is taken falls evenly from 1 at the offer to 0 at the ask: supposed, no data behind it"
)
_ASSUMES = (
    "what waiting is expected to leave was given, its costs taken off",
    "what the unit has cost so far plays no part",
)
_MOST_COUNTERS = 200


@dataclass(frozen=True)
class Counter:
    """A price that could be named, and the chance (0 to 1) that this buyer takes it."""

    price: Money
    chance: Decimal


def supposed_counters(offer: Money, ask: Money) -> tuple[Counter, ...]:
    """Return at most 200 prices between the offer and the ask, with chances that are only supposed (``SUPPOSED``)."""
    unit = minor_unit(offer.currency)
    span = ask.amount - offer.amount
    steps = max(min(int(span / unit), _MOST_COUNTERS), 0)
    counters = []
    for step in range(1, steps + 1):
        price = offer.amount + (span * step / steps / unit).to_integral_value(ROUND_FLOOR) * unit
        chance = 1 - (price - offer.amount) / span
        counters.append(Counter(Money(amount=price, currency=offer.currency), chance))
    return tuple(counters)


def answer_offer(
    offer: Money,
    terms: SaleTerms,
    *,
    waiting: Money,
    counters: Sequence[Counter] = (),
    stands: Decimal = Decimal(0),
    assumes: tuple[str, ...] = (),
) -> OfferAnswer:
    """Return the answer that is expected to leave most, with the expected net of each.

    Args:
        offer: What the buyer offers.
        terms: The sale that it would be.
        waiting: Expected net of going on without this buyer, holding costs taken off.
        counters: Prices that could be named instead.
        stands: Chance (0 to 1) that the offer still stands after a counter was refused.
        assumes: What the chances rest on, said with the answer.

    Raises:
        BadInput: A chance is no chance or rises with the price, a counter is not above the offer, or an amount is in
            another currency; or as ``net_proceeds``.
        NotFound: As ``net_proceeds``.
    """
    _check_chances(offer, counters, stands)
    accept = net_proceeds(offer, terms).net
    lowest = lowest_price(waiting, terms)
    rest = stands * max(accept.amount, waiting.amount) + (1 - stands) * waiting.amount
    tried = [_tried(counter, terms, rest) for counter in counters]
    best = max(tried, key=lambda counter: counter.expected.amount, default=None)
    most = max(accept.amount, waiting.amount)
    answer = "accept" if accept.amount >= waiting.amount else "wait"
    if best is not None and best.expected.amount > most:
        answer = "counter"
    return OfferAnswer.model_validate(
        {
            "offer": offer,
            "answer": answer,
            "accept": accept,
            "wait": waiting,
            "counter": best,
            "lowest": lowest,
            "assumes": (*_ASSUMES, *assumes),
        }
    )


def _tried(counter: Counter, terms: SaleTerms, rest: Decimal) -> CounterOffer:
    net = net_proceeds(counter.price, terms).net
    expected = rounded(counter.chance * net.amount + (1 - counter.chance) * rest, net.currency)
    return CounterOffer(
        price=counter.price, chance=counter.chance, expected=Money(amount=expected, currency=net.currency)
    )


def _check_chances(offer: Money, counters: Sequence[Counter], stands: Decimal) -> None:
    """Let pass chances that can be.

    Raises:
        BadInput: One cannot.
    """
    if not 0 <= stands <= 1:
        raise _refused("stands", str(stands), "a chance from 0 to 1")
    before: Counter | None = None
    for counter in sorted(counters, key=lambda counter: counter.price.amount):
        if not 0 <= counter.chance <= 1:
            raise _refused("counter.chance", str(counter.chance), "a chance from 0 to 1")
        if counter.price.currency != offer.currency or counter.price.amount <= offer.amount:
            found = f"{counter.price.amount} {counter.price.currency}"
            raise _refused("counter.price", found, f"more than the offer of {offer.amount} {offer.currency}")
        if before is not None and counter.chance > before.chance:
            expected = f"at most {before.chance}: a dearer counter is not taken more often"
            raise _refused("counter.chance", str(counter.chance), expected)
        before = counter


def _refused(column: str, found: str, expected: str) -> BadInput:
    problem = Problem("offer", None, column, found, expected)
    return BadInput(str(problem), (problem,))
