"""Exchange rates: the embedded reference table and the user's own file."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from data.importing.rates import OLDEST_DAYS, ReferenceRates
from data.importing.rates_csv import read_rates_csv
from pricing.errors import BadInput, NotFound


@pytest.fixture(scope="module")
def reference() -> ReferenceRates:
    return ReferenceRates()


def test_a_rate_of_the_embedded_table_is_the_published_one(reference):
    """The European Central Bank published 1.3759 dollars per euro for 28 March 2014.

    Source: the documentation of the package currencyconverter, which quotes that line of the bank's table.
    """
    found = reference.rate("USD", "EUR", date(2014, 3, 28))
    assert found.day == date(2014, 3, 28)
    assert float(1 / found.rate) == pytest.approx(1.3759, abs=5e-5)
    assert reference.rate("EUR", "USD", date(2014, 3, 28)).rate == Decimal("1.3759")


def test_two_other_currencies_are_crossed_through_the_euro(reference):
    day = date(2024, 5, 15)
    through = reference.rate("USD", "EUR", day).rate * reference.rate("EUR", "GBP", day).rate
    assert float(reference.rate("USD", "GBP", day).rate) == pytest.approx(float(through))


def test_a_day_without_a_rate_takes_the_last_one_before(reference):
    sunday = reference.rate("USD", "EUR", date(2024, 5, 19))
    assert sunday.day == date(2024, 5, 17)
    assert sunday.rate == reference.rate("USD", "EUR", date(2024, 5, 17)).rate


def test_the_same_currency_needs_no_table(reference):
    assert reference.rate("XAU", "XAU", date(1950, 1, 1)).rate == 1


@pytest.mark.parametrize(
    ("currency", "day", "reason"),
    [
        ("USD", date(1998, 12, 31), "reach from 1999"),
        ("USD", date(2099, 1, 1), "within 60 days"),
        ("HRK", date(2024, 1, 1), "within 60 days"),
        ("KWD", date(2024, 1, 1), "do not have KWD"),
    ],
)
def test_a_rate_that_is_not_known_is_refused(reference, currency, day, reason):
    with pytest.raises(NotFound, match=reason):
        reference.rate(currency, "EUR", day)


def test_the_users_own_rates_are_used_by_day(tmp_path):
    path = tmp_path / "rates.csv"
    path.write_text("date,currency,per_base\n2026-02-01,USD,1.25\n2026-01-01,USD,1.1\n2026-01-01,GBP,0.8\n")
    rates = read_rates_csv(path, base="EUR")
    assert rates.rate("USD", "EUR", date(2026, 1, 31)).day == date(2026, 1, 1)
    assert rates.rate("USD", "EUR", date(2026, 2, 3)).rate == Decimal(1) / Decimal("1.25")
    assert rates.rate("GBP", "USD", date(2026, 1, 2)).rate == Decimal("1.1") / Decimal("0.8")
    with pytest.raises(NotFound, match="no USD"):
        rates.rate("USD", "EUR", date(2025, 12, 31))
    with pytest.raises(NotFound, match="no GBP"):
        rates.rate("GBP", "EUR", date.fromordinal(date(2026, 1, 1).toordinal() + OLDEST_DAYS + 1))


@pytest.mark.parametrize(
    ("content", "line", "column"),
    [
        ("date,currency\n2026-01-01,USD\n", 1, "per_base"),
        ("date,currency,per_base\n2026-01-32,USD,1\n", 2, "date"),
        ("date,currency,per_base\n2026-01-01,USD,1\n,USD,1\n", 3, "date"),
        ("date,currency,per_base\n2026-01-01,XQZ,1\n", 2, "currency"),
        ("date,currency,per_base\n2026-01-01,,1\n", 2, "currency"),
        ("date,currency,per_base\n2026-01-01,USD,0\n", 2, "per_base"),
        ("date,currency,per_base\n2026-01-01,USD,\n", 2, "per_base"),
        ("date,currency,per_base\n2026-01-01,USD,1\n2026-01-01,USD,2\n", 3, "date"),
    ],
)
def test_a_bad_rate_is_named_by_line_and_column(tmp_path, content, line, column):
    path = tmp_path / "rates.csv"
    path.write_text(content)
    with pytest.raises(BadInput) as caught:
        read_rates_csv(path, base="EUR")
    assert (caught.value.problems[0].line, caught.value.problems[0].column) == (line, column)
