"""The answer to an offer: the one that is expected to leave most."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.decisions.lowest_price import lowest_price
from pricing.decisions.offers import SUPPOSED, Counter, answer_offer, supposed_counters
from pricing.decisions.proceeds import SaleTerms, net_proceeds
from pricing.errors import BadInput
from pricing.records.channel import Channel, Fee
from tests.deals import SOLD, money

TERMS = SaleTerms(
    Channel(name="stall", title="Stall", currency="GBP", fees=(Fee(name="sale", percent=Decimal(10)),)), SOLD
)


def counter(price, chance):
    return Counter(money(price), Decimal(str(chance)))


def test_an_offer_above_what_waiting_leaves_is_taken():
    found = answer_offer(money(100), TERMS, waiting=money(80))
    assert (found.answer, found.accept, found.lowest) == ("accept", money("90.00"), money("88.89"))


def test_an_offer_that_leaves_just_what_waiting_leaves_is_taken():
    assert answer_offer(money(100), TERMS, waiting=money(90)).answer == "accept"
    assert answer_offer(money(100), TERMS, waiting=money("90.01")).answer == "wait"


def test_a_counter_is_weighed_by_its_chance():
    # 0.5 * 108 + 0.5 * 85 = 96.50 beats the 90 of the offer; with a chance of 0.2 it is 89.60 and does not.
    likely = answer_offer(money(100), TERMS, waiting=money(85), counters=[counter(120, 0.5)])
    assert (likely.answer, likely.counter.expected) == ("counter", money("96.50"))
    unlikely = answer_offer(money(100), TERMS, waiting=money(85), counters=[counter(120, 0.2)])
    assert (unlikely.answer, unlikely.counter.expected) == ("accept", money("89.60"))


def test_an_offer_that_still_stands_makes_a_counter_cheaper_to_try():
    # The rest is 0.5 * 90 + 0.5 * 85 = 87.50: 0.2 * 108 + 0.8 * 87.50 = 91.60.
    found = answer_offer(
        money(100), TERMS, waiting=money(85), counters=[counter(120, 0.2)], stands=Decimal("0.5")
    )
    assert (found.answer, found.counter.expected) == ("counter", money("91.60"))


@given(offer=st.integers(1, 500), ask=st.integers(1, 900))
def test_supposed_chances_fall_from_the_offer_to_the_ask(offer, ask):
    counters = supposed_counters(money(offer), money(ask))
    assert len(counters) <= 200
    assert all(offer < one.price.amount <= ask for one in counters)
    chances = [one.chance for one in counters]
    assert chances == sorted(chances, reverse=True)
    if ask > offer:
        assert counters[-1] == Counter(money(ask).to_minor_unit(), Decimal(0))
    else:
        assert counters == ()


@settings(max_examples=50, deadline=None)
@given(
    offer=st.integers(1, 300),
    waiting=st.integers(0, 300),
    chances=st.lists(st.integers(0, 100), max_size=4),
    stands=st.integers(0, 100),
)
def test_the_answer_leaves_at_least_as_much_as_every_other(offer, waiting, chances, stands):
    falling = sorted(chances, reverse=True)
    counters = [counter(offer + 10 * (place + 1), share / 100) for place, share in enumerate(falling)]
    share = Decimal(stands) / 100
    found = answer_offer(money(offer), TERMS, waiting=money(waiting), counters=counters, stands=share)
    accept = net_proceeds(money(offer), TERMS).net.amount
    rest = share * max(accept, waiting) + (1 - share) * waiting
    values = [one.chance * net_proceeds(one.price, TERMS).net.amount + (1 - one.chance) * rest for one in counters]
    leaves = {"accept": accept, "wait": Decimal(waiting), "counter": max(values, default=Decimal(-1))}
    assert leaves[found.answer] >= max(leaves.values()) - Decimal("0.005")
    assert found.lowest == lowest_price(money(waiting), TERMS)
    assert (accept >= waiting) == (found.lowest.amount <= offer)


def test_what_the_chances_rest_on_is_said():
    found = answer_offer(money(10), TERMS, waiting=money(1), assumes=(SUPPOSED,))
    assert SUPPOSED in found.assumes


@pytest.mark.parametrize(
    ("counters", "stands", "column"),
    [
        ([counter(120, 1.5)], 0, "counter.chance"),
        ([counter(120, -0.1)], 0, "counter.chance"),
        ([counter(100, 0.5)], 0, "counter.price"),
        ([Counter(money(120, "EUR"), Decimal("0.5"))], 0, "counter.price"),
        ([counter(120, 0.2), counter(130, 0.3)], 0, "counter.chance"),
        ([], 2, "stands"),
    ],
)
def test_chances_that_cannot_be_are_refused(counters, stands, column):
    with pytest.raises(BadInput) as refused:
        answer_offer(money(100), TERMS, waiting=money(80), counters=counters, stands=Decimal(stands))
    assert refused.value.problems[0].column == column
