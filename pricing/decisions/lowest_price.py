"""The lowest price that leaves a wanted net: break-even against the basis, or against what waiting is worth.

Between two prices at which a tier begins, the net before rounding only rises with the price. There the search halves;
then it goes up minor unit by minor unit, because rounding each line makes the net wobble by a few of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from pricing.decisions.fees import jumps, steepest_share
from pricing.decisions.proceeds import MOST_AMOUNT, SaleTerms, exact_net, net_proceeds
from pricing.errors import BadInput, Problem
from pricing.records.channel import Channel, checked_channel
from pricing.records.money import Money, minor_unit

# Rounding moves the net by less than 1.5 minor units for each line; the shop keeps at least 2 percent of each more.
_STEPS_FOR_EACH_LINE = 75


def lowest_price(wanted: Money, terms: SaleTerms) -> Money:
    """Return the lowest price whose net is at least ``wanted``.

    A dearer price may leave less: where a fee that is taken of the whole jumps at a tier. The price returned is the
    lowest of all that reach the wanted net.

    Raises:
        BadInput: The amount is in another currency, the channel takes all of each more, or as ``net_proceeds``.
        NotFound: As ``net_proceeds``.
    """
    channel = checked_channel(terms.channel)
    if wanted.currency != channel.currency:
        raise _refused("wanted net", wanted.currency, f"{channel.currency}, the money of the channel {channel.name}")
    _check_slope(channel, terms)
    unit = minor_unit(channel.currency)
    for first, last in _segments(channel, terms, unit):
        found = _first_in(first, last, wanted.amount, terms, unit)
        if found is not None:
            return Money(amount=found * unit, currency=channel.currency)
    raise _refused("wanted net", str(wanted.amount), f"an amount that a price up to {MOST_AMOUNT:f} leaves")


def _segments(channel: Channel, terms: SaleTerms, unit: Decimal) -> Iterator[tuple[int, int]]:
    """Yield the first and last price, in minor units, of each stretch without a jump."""
    postage = terms.postage
    first = 0
    for edge in jumps(channel, Decimal(0) if postage is None else postage.charged):
        last = int((edge / unit).to_integral_value(ROUND_FLOOR))
        if last >= first:
            yield first, last
            first = last + 1
    yield first, int(MOST_AMOUNT / unit)


def _first_in(first: int, last: int, wanted: Decimal, terms: SaleTerms, unit: Decimal) -> int | None:
    """Return the first price of a stretch that leaves the wanted net, in minor units; None: there is none."""
    lines = len(terms.channel.all_fees) + 6
    low, high = first, last
    if exact_net(last * unit, terms) < wanted - lines * unit:
        return None
    while low < high:
        middle = (low + high) // 2
        if exact_net(middle * unit, terms) >= wanted - lines * unit:
            high = middle
        else:
            low = middle + 1
    for price in range(low, min(last, low + _STEPS_FOR_EACH_LINE * lines) + 1):
        money = Money(amount=price * unit, currency=terms.channel.currency)
        if net_proceeds(money, terms).net.amount >= wanted:
            return price
    return None


def _check_slope(channel: Channel, terms: SaleTerms) -> None:
    """Let pass terms under which a higher price leaves more.

    Raises:
        BadInput: Fees, returns, guarantee and tax together take nearly all of each more.
    """
    percent = Decimal(0) if terms.table is None else terms.table.percent_on(terms.on)
    taken = steepest_share(channel) + channel.guarantee.percent / 100 + percent / (100 + percent)
    taken += channel.returns.share_percent * channel.returns.lost_percent / 10_000
    if taken > Decimal("0.98"):
        share = (taken * 100).quantize(Decimal("0.1"), rounding=ROUND_CEILING)
        raise _refused(f"channel {channel.name}", f"{share} percent taken of each more", "at most 98 percent")


def _refused(column: str, found: str, expected: str) -> BadInput:
    problem = Problem("sale", None, column, found, expected)
    return BadInput(str(problem), (problem,))
