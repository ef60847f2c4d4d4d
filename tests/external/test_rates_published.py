"""Exchange rates against reference rates that the Bank of Italy published for the same days.

Sources: Banca d'Italia, "Cambi di riferimento" of 19 June 2009, 22 July 2003, 4 June 2004 and 18 September 2003
(bancaditalia.it, compiti/operazioni-cambi/cambio/cambi_rif_20090619 and alike): the rates that the European System of
Central Banks quoted, in currency per euro. The rates of 26 October 2000 (the euro's lowest against the dollar) and
15 July 2008 were seen in a public post on euro exchange rates (forexesteem.blogspot.com, March 2009). Those of
4 January 1999 are from memory.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from data.importing.comparables_csv import read_sales
from data.importing.rates import OLDEST_DAYS, ReferenceRates
from pricing.errors import NotFound
from pricing.records.device_class import Attribute, DeviceClass

PUBLISHED = {
    date(2009, 6, 19): {"USD": "1.3932", "GBP": "0.84715", "JPY": "134.84"},
    date(2003, 7, 22): {"USD": "1.1343", "GBP": "0.70830", "JPY": "135.18"},
    date(2004, 6, 4): {"USD": "1.2203", "GBP": "0.66385", "JPY": "135.78"},
    date(2003, 9, 18): {"USD": "1.1290", "GBP": "0.69900", "JPY": "130.15"},
    date(2000, 10, 26): {"USD": "0.8252", "GBP": "0.5807", "JPY": "89.3"},
    date(2008, 7, 15): {"USD": "1.5990", "GBP": "0.79555", "JPY": "167.48"},
    date(1999, 1, 4): {"USD": "1.1789", "GBP": "0.7111", "JPY": "133.73"},
}
FRIDAY = date(2009, 6, 19)
CROSS = 60.806058  # 100 dollars in pounds: 100 / 1.3932 * 0.84715


@pytest.fixture(scope="module")
def rates() -> ReferenceRates:
    return ReferenceRates()


@pytest.mark.parametrize(
    ("day", "currency", "per_euro"),
    [(day, currency, rate) for day, row in PUBLISHED.items() for currency, rate in row.items()],
)
def test_a_rate_per_euro_is_the_published_one(rates: ReferenceRates, day: date, currency: str, per_euro: str) -> None:
    found = rates.rate("EUR", currency, day)
    assert (found.rate, found.day) == (Decimal(per_euro), day)
    assert float(rates.rate(currency, "EUR", day).rate * Decimal(per_euro)) == pytest.approx(1.0, abs=1e-15)


def test_a_hundred_dollars_in_pounds_are_crossed_through_the_euro(rates: ReferenceRates) -> None:
    assert float(100 * rates.rate("USD", "GBP", FRIDAY).rate) == pytest.approx(CROSS, abs=5e-7)
    assert 100 * rates.rate("USD", "GBP", FRIDAY).rate == 100 * (Decimal("0.84715") / Decimal("1.3932"))


@pytest.mark.parametrize("day", [date(2009, 6, 20), date(2009, 6, 21)])
def test_at_a_weekend_the_rate_of_friday_holds_and_says_its_day(rates: ReferenceRates, day: date) -> None:
    found = rates.rate("USD", "GBP", day)
    assert float(100 * found.rate) == pytest.approx(CROSS, abs=5e-7)
    assert found.day == FRIDAY
    assert rates.rate("USD", "GBP", date(2009, 6, 22)).day == date(2009, 6, 22)


def test_the_kuna_is_known_until_its_last_day_and_sixty_days_more(rates: ReferenceRates) -> None:
    """Croatia took the euro on 1 January 2023 at 7.53450 kuna, Council Regulation (EU) 2022/1208 (from memory)."""
    last = date(2022, 12, 30)
    assert float(rates.rate("EUR", "HRK", last).rate) == pytest.approx(7.5345, rel=2e-3)
    edge = date.fromordinal(last.toordinal() + OLDEST_DAYS)
    assert rates.rate("HRK", "EUR", edge).day == last
    with pytest.raises(NotFound, match="no HRK within 60 days"):
        rates.rate("HRK", "EUR", date.fromordinal(edge.toordinal() + 1))


def test_sales_of_three_currencies_come_out_in_pounds_at_the_rates_of_their_days(tmp_path, rates) -> None:
    path = tmp_path / "sales.csv"
    path.write_text("price,currency,sold_on\n100,USD,2009-06-19\n100,USD,2009-06-20\n100,EUR,2003-07-22\n100,GBP,2003-07-22\n")
    lamp = DeviceClass(name="lamp", attributes=(Attribute(name="brand", kind="group"),))
    reading = read_sales(path, lamp, base="GBP", today=date(2026, 1, 1), rates=rates)
    assert reading.table.currency == "GBP"
    assert reading.table.price == pytest.approx([CROSS, CROSS, 70.830, 100.0], abs=5e-7)
    assert not any("days old" in notice for notice in reading.notices)
