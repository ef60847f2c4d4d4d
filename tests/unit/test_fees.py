"""Fees of a channel: on price, postage and each other, with tiers and bounds."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from pricing.decisions.fees import fee_amounts, jumps, steepest_share
from pricing.records.channel import Channel, Fee, Tier
from tests.channels import channels

PENCE = st.integers(0, 300_000).map(lambda pence: Decimal(pence) / 100)


def exactly(amount):
    return amount


def channel(*fees):
    return Channel(name="c", title="C", currency="GBP", fees=fees)


def test_fees_on_fees_are_counted_whatever_their_order_on_the_bill():
    later = channel(
        Fee(name="tax", percent=Decimal(20), of=("sale",)),
        Fee(name="sale", percent=Decimal(10), of=("price", "postage")),
    )
    assert fee_amounts(later, Decimal(90), Decimal(10), exactly) == {"tax": 2, "sale": 10}


def test_each_fee_is_rounded_before_others_are_taken_of_it():
    stacked = channel(Fee(name="sale", percent=Decimal("12.5")), Fee(name="tax", percent=Decimal(50), of=("sale",)))
    rounded = fee_amounts(stacked, Decimal(10), Decimal(0), lambda amount: amount.quantize(Decimal(1)))
    assert rounded == {"sale": 1, "tax": 0}
    assert fee_amounts(stacked, Decimal(10), Decimal(0), exactly) == {"sale": Decimal("1.25"), "tax": Decimal("0.625")}


def test_the_steepest_share_is_that_of_the_dearest_tier_with_what_is_taken_of_it():
    tiers = (Tier(up_to=Decimal(9), percent=Decimal(20)), Tier(above=Decimal(9), percent=Decimal(5)))
    stacked = channel(Fee(name="sale", tiers=tiers), Fee(name="tax", percent=Decimal(50), of=("sale",)))
    assert steepest_share(stacked) == Decimal("0.3")
    assert steepest_share(channel(Fee(name="post", percent=Decimal(50), of=("postage",)))) == 0


def test_fees_jump_where_a_tier_ends_less_the_postage_that_counts_in():
    tiers = (Tier(up_to=Decimal(9)), Tier(above=Decimal(9), up_to=Decimal(50)), Tier(above=Decimal(50)))
    tiered = channel(
        Fee(name="a", tiers=tiers),
        Fee(name="b", tiers=tiers, of=("price", "postage")),
        Fee(name="c", tiers=tiers, of=("postage",)),
    )
    assert jumps(tiered, Decimal(10)) == (9, 40, 50)


@given(channels(), PENCE, PENCE)
def test_between_jumps_fees_never_grow_faster_than_the_steepest_share(any_channel, price, more):
    edges = [Decimal(-1), *jumps(any_channel, Decimal(0)), Decimal(10**9)]
    start = next(edge for edge in reversed(edges) if edge < price)
    end = edges[edges.index(start) + 1]
    dearer = min(price + more, end)
    low, high = (sum(fee_amounts(any_channel, at, Decimal(0), exactly).values()) for at in (price, dearer))
    assert 0 <= high - low <= steepest_share(any_channel) * (dearer - price) + Decimal("1e-12")
