"""A lot's price is divided to the last minor unit, by rules that are written down."""

from __future__ import annotations

import random
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.decisions.shares import divided, equal_shares, passed_on, shares_by_hand, shares_by_value
from pricing.errors import BadInput
from pricing.records.money import minor_unit, rounded
from tests.counts import count
from tests.deals import money

LOTS = 10_000
CURRENCIES = ("EUR", "JPY", "KWD")


def amounts(shares):
    return [share.amount for share in shares]


def monies(values, currency="EUR"):
    return [money(value, currency) for value in values]


@pytest.mark.parametrize(
    ("price", "values", "shares"),
    [
        # double-entry-bookkeeping.com, relative fair value method.
        (300_000, (68_000, 51_000, 221_000), (60_000, 45_000, 195_000)),
        # wizedu.com, question 420733.
        (60_000, (30_000, 18_000, 27_000), (24_000, 14_400, 21_600)),
        # pearson.com practice item (values only): the values sum to the price.
        (1_500_000, (500_000, 1_000_000), (500_000, 1_000_000)),
    ],
)
def test_basket_purchases_of_textbooks_are_divided_as_printed(price, values, shares):
    assert amounts(shares_by_value(money(price), monies(values))) == list(shares)


def test_equal_shares_differ_by_a_minor_unit_and_the_first_get_it():
    assert amounts(equal_shares(money(100), 3)) == [Decimal("33.34"), Decimal("33.33"), Decimal("33.33")]
    assert amounts(equal_shares(money(100, "JPY"), 3)) == [34, 33, 33]
    assert amounts(equal_shares(money(1, "KWD"), 3)) == [Decimal("0.334"), Decimal("0.333"), Decimal("0.333")]


def test_what_is_left_over_goes_to_the_largest_remainders():
    # 10 cents by 1, 2, 4: quotas 1.43, 2.86, 5.71 leave two cents for the second and the third.
    assert amounts(divided(money("0.10"), [Decimal(1), Decimal(2), Decimal(4)])) == [
        Decimal("0.01"), Decimal("0.03"), Decimal("0.06"),
    ]  # fmt: skip


def random_lot(draw):
    """Return a currency, a price and expected values, some of them 0, below 0 or tiny."""
    currency = draw.choice(CURRENCIES)
    price = draw.randrange(0, 10 ** draw.randrange(1, 9)) * minor_unit(currency)
    values = [
        Decimal(draw.randrange(-50, 10 ** draw.randrange(2, 8))) / draw.choice([1, 7, 100])
        for _ in range(draw.randrange(1, 60))
    ]
    return currency, price, [*values, Decimal(draw.randrange(1, 100))]


def test_random_lots_are_divided_to_the_last_minor_unit():
    draw = random.Random(11)
    for _ in range(count(LOTS)):
        currency, price, values = random_lot(draw)
        shares = amounts(shares_by_value(money(price, currency), monies(values, currency)))
        assert sum(shares) == price
        assert min(shares) >= 0
        unit = minor_unit(currency)
        whole = sum(max(Fraction(value), 0) for value in values)
        for value, share in zip(values, shares, strict=True):
            exact = Fraction(price) / whole * max(Fraction(value), 0)
            assert abs(Fraction(share) - exact) < Fraction(unit)
            assert share == rounded(share, currency)


def test_random_lots_in_equal_shares_sum_to_the_price():
    draw = random.Random(12)
    for _ in range(count(LOTS)):
        currency, price, values = random_lot(draw)
        shares = amounts(equal_shares(money(price, currency), len(values)))
        assert sum(shares) == price
        assert max(shares) - min(shares) <= minor_unit(currency)


def test_a_scrapped_unit_may_pass_on_its_share():
    draw = random.Random(13)
    for _ in range(count(LOTS)):
        currency, price, values = random_lot(draw)
        shares = shares_by_value(money(price, currency), monies(values, currency))
        scrapped = draw.sample(range(len(values)), draw.randrange(len(values)))
        after = amounts(passed_on(shares, scrapped))
        assert sum(after) == price
        assert all(after[place] == 0 for place in scrapped)
        kept = set(range(len(values))) - set(scrapped)
        assert all(after[place] >= shares[place].amount for place in kept)


def test_units_without_a_share_take_equal_parts_of_what_is_passed_on():
    assert amounts(passed_on(monies([9, 0, 0]), [0])) == [0, Decimal("4.50"), Decimal("4.50")]


@given(st.integers(0, 10**6), st.lists(st.integers(0, 10**6), min_size=1, max_size=9).filter(any), st.data())
def test_a_dearer_unit_never_carries_less(price, values, data):
    shares = amounts(shares_by_value(money(price), monies(values)))
    first, second = data.draw(st.tuples(*[st.integers(0, len(values) - 1)] * 2))
    if values[first] > values[second]:
        assert shares[first] >= shares[second]


def test_shares_by_hand_stand_when_they_sum_to_the_price():
    given_shares = monies(["60.01", "39.99"])
    assert list(shares_by_hand(money(100, "EUR"), given_shares)) == given_shares


@pytest.mark.parametrize(
    ("attempt", "words"),
    [
        (lambda: equal_shares(money(5), 0), "0 units"),
        (lambda: shares_by_value(money(5), []), "0 units"),
        (lambda: equal_shares(money(-5), 2), "0 or more"),
        (lambda: equal_shares(money("0.005"), 2), "whole minor units"),
        (lambda: shares_by_value(money(5), monies([0, -3])), "nothing that is worth more"),
        (lambda: shares_by_value(money(5), [money(1), money(1, "EUR")]), "values.1"),
        (lambda: divided(money(5), [Decimal(1), Decimal("NaN")]), "weights.1"),
        (lambda: divided(money(5), [Decimal(-1)]), "weights.0"),
        (lambda: shares_by_hand(money(100, "EUR"), monies([60, 39])), "1 is missing"),
        (lambda: shares_by_hand(money(100, "EUR"), monies([60, 41])), "1 too much"),
        (lambda: shares_by_hand(money(100, "EUR"), monies([110, -10])), "shares.1"),
        (lambda: shares_by_hand(money(100), monies([100])), "as the lot was paid"),
        (lambda: passed_on(monies([5, 5]), [0, 1]), "every unit"),
        (lambda: passed_on(monies([5, 5]), [2]), "from 0 to 1"),
    ],
)
def test_a_lot_that_cannot_be_divided_is_refused(attempt, words):
    with pytest.raises(BadInput, match=words):
        attempt()
