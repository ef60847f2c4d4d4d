"""The embedded reference rates and minor units against published figures."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from data.importing.rates import ReferenceRates
from pricing.decisions.ledger import entry_of
from pricing.errors import BadInput
from pricing.records.cost import NewCost, ReferenceRate
from pricing.records.money import minor_unit
from tests.deals import money

# Currency per euro, as published by the European Central Bank; where each day's figures were seen:
PUBLISHED = [
    ("2009-06-19", "1.3932", "0.84715", "134.84"),  # bancaditalia.it, cambi_rif_20090619
    ("2003-07-22", "1.1343", "0.70830", "135.18"),  # bancaditalia.it, cambi_rif_20030722
    ("2004-06-04", "1.2203", "0.66385", "135.78"),  # bancaditalia.it, cambi_rif_20040604
    ("2003-09-18", "1.1290", "0.69900", "130.15"),  # bancaditalia.it, cambi_rif_20030918
    ("2000-10-26", "0.8252", "0.5807", "89.3"),  # forexesteem.blogspot.com, 2009/03
    ("2008-07-15", "1.5990", "0.79555", "167.48"),  # forexesteem.blogspot.com, 2009/03
    ("1999-01-04", "1.1789", "0.7111", "133.73"),  # from memory
]


@pytest.fixture(scope="module")
def rates():
    return ReferenceRates()


@pytest.mark.parametrize(("day", "dollar", "pound", "yen"), PUBLISHED)
def test_the_rates_of_a_day_are_the_published_ones(rates, day, dollar, pound, yen):
    for currency, published in (("USD", dollar), ("GBP", pound), ("JPY", yen)):
        assert rates.rate("EUR", currency, date.fromisoformat(day)).rate == Decimal(published)


def test_a_cost_is_crossed_through_the_euro_and_rounded_once(rates):
    # 100 / 1.3932 * 0.84715 = 60.806058 on 19 June 2009, and on the weekend after it.
    for day in (date(2009, 6, 19), date(2009, 6, 20)):
        found = rates.rate("USD", "GBP", day)
        assert round(100 * found.rate, 6) == Decimal("60.806058")
        assert found.day == date(2009, 6, 19)
        stated = NewCost(kind="part", on=day, paid=money(100, "USD"), reason="a lens")
        entry = entry_of(stated, "GBP", ReferenceRate(rate=found.rate, day=found.day))
        assert (entry.amount, entry.rate_on) == (money("60.81"), date(2009, 6, 19))


@pytest.mark.parametrize(
    ("currencies", "unit"),
    [
        ("JPY KRW ISK CLP", "1"),
        ("KWD BHD TND", "0.001"),
        ("EUR USD GBP CHF AUD HUF", "0.01"),
        ("CLF UYW", "0.0001"),
    ],
)
def test_minor_units_are_those_of_iso_4217(currencies, unit):
    for currency in currencies.split():
        assert minor_unit(currency) == Decimal(unit)
        finer = NewCost(kind="part", on=date(2026, 1, 2), paid=money(Decimal(unit) / 10, currency), reason="x")
        with pytest.raises(BadInput, match="whole minor units"):
            entry_of(finer, currency)
