"""Money: known currencies only, and one place where amounts are rounded."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from pricing.errors import BadInput
from pricing.records.money import Money, checked_currency, minor_unit, money_from_float, rounded

CURRENCIES = ("EUR", "JPY", "KWD")


@pytest.mark.parametrize(("currency", "unit"), [("EUR", "0.01"), ("USD", "0.01"), ("JPY", "1"), ("KWD", "0.001")])
def test_each_currency_has_its_own_smallest_amount(currency, unit):
    assert minor_unit(currency) == Decimal(unit)


@pytest.mark.parametrize(
    ("amount", "currency", "expected"),
    [
        ("1.005", "EUR", "1.00"),
        ("1.015", "EUR", "1.02"),
        ("-1.005", "EUR", "-1.00"),
        ("1250.5", "JPY", "1250"),
        ("1251.5", "JPY", "1252"),
        ("0.0005", "KWD", "0.000"),
        ("0.0015", "KWD", "0.002"),
        ("2", "EUR", "2.00"),
    ],
)
def test_amounts_are_rounded_half_to_even(amount, currency, expected):
    assert str(rounded(Decimal(amount), currency)) == expected


@given(st.decimals(-(10**9), 10**9, places=6), st.sampled_from(CURRENCIES))
def test_rounding_moves_an_amount_by_at_most_half_the_smallest_and_only_once(amount, currency):
    once = rounded(amount, currency)
    assert abs(once - amount) * 2 <= minor_unit(currency)
    assert rounded(once, currency) == once


@given(st.floats(0.01, 1e9), st.sampled_from(CURRENCIES))
def test_a_number_of_the_model_becomes_money_in_whole_smallest_amounts(number, currency):
    money = money_from_float(number, currency)
    assert money.amount % minor_unit(currency) == 0
    assert money == money.to_minor_unit()


def test_a_float_becomes_money_as_it_is_written_not_as_it_is_stored():
    # 2.675 is stored below 2.675; what a person reads is what is rounded.
    assert money_from_float(2.675, "EUR").amount == Decimal("2.68")


@pytest.mark.parametrize("code", ["eur", " EUR ", "EUR"])
def test_a_currency_code_is_read_whatever_its_case_and_blanks(code):
    assert checked_currency(code) == "EUR"


@pytest.mark.parametrize("code", ["XYZ", "", "€", "EURO"])
def test_an_unknown_currency_is_refused_by_name(code):
    with pytest.raises(BadInput, match="expected an ISO 4217 code"):
        checked_currency(code)
    with pytest.raises(ValidationError, match="unknown currency"):
        Money(amount=Decimal(1), currency=code)


def test_money_is_frozen():
    money = Money(amount=Decimal("1.50"), currency="EUR")
    with pytest.raises(ValidationError, match="frozen"):
        money.amount = Decimal(2)


def test_an_absurd_amount_is_rounded_like_any_other() -> None:
    huge = rounded(Decimal("8e196") + Decimal("0.005"), "EUR")
    assert huge == Decimal("8e196")
    assert huge.as_tuple().exponent == -2
