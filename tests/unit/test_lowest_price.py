"""The lowest price that leaves a wanted net, against a search that tries every price."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.decisions.lowest_price import lowest_price
from pricing.decisions.proceeds import SaleTerms, net_proceeds
from pricing.errors import BadInput
from pricing.records.channel import Channel, Fee, Reserve, Tier
from pricing.records.money import minor_unit
from tests.channels import terms
from tests.deals import SOLD, money

BARE = SaleTerms(Channel(name="bare", title="Bare", currency="GBP"), SOLD)


def with_fees(*fees, **more):
    return replace(BARE, channel=BARE.channel.model_copy(update={"fees": fees, **more}))


def net(amount, sold):
    return net_proceeds(money(amount, sold.channel.currency), sold).net.amount


def every_price(wanted, sold, most):
    """Return the first of all prices up to ``most`` minor units that leaves the wanted net."""
    unit = minor_unit(sold.channel.currency)
    return next((unit * price for price in range(most) if net(unit * price, sold) >= wanted), None)


@pytest.mark.parametrize(("wanted", "price"), [(0, 0), (-5, 0), (100, 100), ("0.01", "0.01")])
def test_without_fees_the_price_is_the_wanted_net(wanted, price):
    assert lowest_price(money(wanted), BARE) == money(price)


def test_ten_percent_and_a_fixed_fee_are_undone():
    # (90 + 0.50) / 0.9 = 100.556: at 100.55 the fee of 10.06 and 0.50 leaves 89.99, at 100.56 it leaves 90.00.
    sold = with_fees(Fee(name="sale", percent=Decimal(10)), Fee(name="shown", fixed=Decimal("0.50")))
    assert lowest_price(money(90), sold) == money("100.56")


def test_where_a_fee_of_the_whole_jumps_the_price_below_the_jump_is_found():
    tiers = (Tier(up_to=Decimal(100), percent=Decimal(5)), Tier(above=Decimal(100), percent=Decimal(20)))
    sold = with_fees(Fee(name="sale", tiers=tiers, tiers_by="whole"))
    assert lowest_price(money(95), sold) == money(100)
    assert lowest_price(money("95.01"), sold) == money("118.76")
    assert net("100.01", sold) < 95


@settings(max_examples=60, deadline=None)
@given(sold=terms(), wanted=st.integers(-500, 1500))
def test_no_lower_price_leaves_the_wanted_net(sold, wanted):
    unit = minor_unit(sold.channel.currency)
    target = wanted * unit
    found = lowest_price(money(target, sold.channel.currency), sold)
    assert net(found.amount, sold) >= target
    steps = int(found.amount / unit)
    if steps <= 1500:
        assert every_price(target, sold, steps + 1) == found.amount
    else:
        lower = [*range(0, steps, max(steps // 150, 1)), *range(steps - 200, steps)]
        assert all(net(unit * price, sold) < target for price in lower)


@settings(max_examples=100, deadline=None)
@given(sold=terms(), price=st.integers(0, 2_000_000))
def test_a_price_is_never_below_the_lowest_one_for_its_own_net(sold, price):
    paid = price * minor_unit(sold.channel.currency)
    leaves = net(paid, sold)
    found = lowest_price(money(leaves, sold.channel.currency), sold)
    assert found.amount <= paid
    assert net(found.amount, sold) >= leaves


def test_a_channel_that_takes_all_of_each_more_has_no_such_price():
    with pytest.raises(BadInput, match="percent taken of each more"):
        lowest_price(money(1), with_fees(Fee(name="sale", percent=Decimal(99))))
    reserve = Reserve(percent=Decimal(60))
    with pytest.raises(BadInput, match="at most 98 percent"):
        lowest_price(money(1), with_fees(Fee(name="sale", percent=Decimal(50)), guarantee=reserve))


def test_a_net_beyond_all_prices_or_in_other_money_is_refused():
    with pytest.raises(BadInput, match="wanted net"):
        lowest_price(money(10**13), BARE)
    with pytest.raises(BadInput, match="GBP"):
        lowest_price(money(1, "EUR"), BARE)
