"""Parts lists and stock told as records, in any currency."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from api.shop.exchanged_parts import exchanged_parts
from data.importing.rates import ReferenceRates, table_rates
from pricing.errors import BadInput
from pricing.records.money import Money
from pricing.records.part_offer import PartOffer
from pricing.records.stock import StockPart

DAY = date(2026, 3, 10)
TWO_FOR_ONE = table_rates("EUR", [(date(2026, 3, 9), "USD", Decimal(2)), (date(2026, 3, 1), "USD", Decimal(4))])


def money(amount, currency="USD"):
    return Money(amount=Decimal(amount), currency=currency)


def exchanged(*, offers=(), stock=(), rates=TWO_FOR_ONE, on=DAY):
    return exchanged_parts(offers, stock, base="EUR", on=on, rates=rates)


def test_an_offer_in_another_currency_is_converted_with_its_postage_and_keeps_what_was_quoted():
    offer = PartOffer(part="battery", source="a shop", price=money("12.01"), postage=money(3))
    (found,) = exchanged(offers=[offer]).offers
    assert (found.price, found.postage, found.quoted) == (money("6.00", "EUR"), money("1.50", "EUR"), offer.price)


def test_stock_is_converted_too_and_what_is_in_the_plans_currency_stays():
    parts = [StockPart(part="screen", cost=money(8), worth=money(10)), StockPart(part="screen", cost=money(8, "EUR"))]
    found = exchanged(stock=parts).stock
    assert (found[0].cost, found[0].worth) == (money("4.00", "EUR"), money("5.00", "EUR"))
    assert found[1] == parts[1]


def test_the_last_rate_before_the_day_counts():
    offer = PartOffer(part="battery", source="a shop", price=money(8))
    (found,) = exchanged(offers=[offer], on=date(2026, 3, 8)).offers
    assert found.price == money(2, "EUR")


def test_an_old_rate_is_told_once():
    offers = [PartOffer(part="battery", source=str(number), price=money(8)) for number in range(3)]
    notices = exchanged(offers=offers, on=date(2026, 3, 20)).notices
    assert notices == ("the rate of USD is of 2026-03-09, 11 days before 2026-03-20",)


@pytest.mark.parametrize("rates", [TWO_FOR_ONE, ReferenceRates()])
def test_each_amount_without_a_rate_is_refused_with_its_place(rates):
    offers = [PartOffer(part="battery", source="a", price=money(8)),
              PartOffer(part="battery", source="b", price=money(8, "XAF"))]  # fmt: skip
    stock = [StockPart(part="screen", cost=money(8, "XAF"))]
    day = date(2026, 3, 12) if rates is TWO_FOR_ONE else date(2019, 3, 12)
    with pytest.raises(BadInput) as caught:
        exchanged(offers=offers, stock=stock, rates=rates, on=day)
    assert [problem.source for problem in caught.value.problems] == ["offers, 1, battery", "stock, 0, screen"]
