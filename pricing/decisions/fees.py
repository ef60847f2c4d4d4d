"""What a channel takes of a price: percentages, fixed amounts, tiers, bounds, and fees on fees."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from pricing.records.channel import POSTAGE, PRICE, Channel, Fee, Tier

Keep = Callable[[Decimal], Decimal]


def fee_amounts(channel: Channel, price: Decimal, postage: Decimal, keep: Keep) -> dict[str, Decimal]:
    """Return what each fee takes, in the order of the bill.

    Args:
        channel: A channel that was checked: no fee is taken of itself.
        price: Of the unit.
        postage: As charged to the buyer.
        keep: How each amount is rounded before others are taken of it.
    """
    known = {PRICE: price, POSTAGE: postage}
    waiting = list(channel.all_fees)
    while waiting:
        ready = [fee for fee in waiting if all(base in known for base in fee.of)]
        assert ready, "the channel was not checked"  # noqa: S101 - checked_channel refuses circles
        for fee in ready:
            known[fee.name] = keep(_fee(fee, sum((known[base] for base in fee.of), start=Decimal(0))))
        waiting = [fee for fee in waiting if fee.name not in known]
    return {fee.name: known[fee.name] for fee in channel.all_fees}


def steepest_share(channel: Channel) -> Decimal:
    """Return the most that all fees together take of one more unit of price, as a share: 0.15 for 15 percent."""
    shares = {PRICE: Decimal(1), POSTAGE: Decimal(0)}
    waiting = list(channel.all_fees)
    while waiting:
        for fee in waiting:
            if all(base in shares for base in fee.of):
                shares[fee.name] = _steepest(fee) * sum((shares[base] for base in fee.of), start=Decimal(0))
        waiting = [fee for fee in waiting if fee.name not in shares]
    return sum((shares[fee.name] for fee in channel.all_fees), start=Decimal(0))


def jumps(channel: Channel, postage: Decimal) -> tuple[Decimal, ...]:
    """Return the prices, ascending, after which another tier holds and what is taken may jump."""
    edges = {
        tier.up_to - (postage if POSTAGE in fee.of else 0)
        for fee in channel.all_fees
        if PRICE in fee.of
        for tier in fee.tiers
        if tier.up_to is not None
    }
    return tuple(sorted(edge for edge in edges if edge >= 0))


def _fee(fee: Fee, amount: Decimal) -> Decimal:
    if not fee.tiers:
        taken = amount * fee.percent / 100 + fee.fixed
    elif fee.tiers_by == "whole":
        tier = next(tier for tier in fee.tiers if tier.up_to is None or amount <= tier.up_to)
        taken = amount * tier.percent / 100 + tier.fixed
    else:
        taken = sum((_slice(tier, amount) for tier in fee.tiers), start=Decimal(0))
    if fee.at_least is not None:
        taken = max(taken, fee.at_least)
    return taken if fee.at_most is None else min(taken, fee.at_most)


def _slice(tier: Tier, amount: Decimal) -> Decimal:
    # The first tier's fixed amount is due even for an amount of 0: it is a fee for selling at all.
    if amount <= tier.above and tier.above > 0:
        return Decimal(0)
    end = amount if tier.up_to is None else min(amount, tier.up_to)
    return (end - tier.above) * tier.percent / 100 + tier.fixed


def _steepest(fee: Fee) -> Decimal:
    percents = [tier.percent for tier in fee.tiers] or [fee.percent]
    return max(percents) / 100
