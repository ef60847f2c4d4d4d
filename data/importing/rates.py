"""Exchange rates of a day: the European Central Bank's published reference rates, or the user's own file.

The embedded table is that of the package ``currencyconverter``: euro reference rates since 1999 as published by
the European Central Bank, up to the day when the package was made. Two other currencies are crossed through
the euro.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property
from typing import Protocol

from currency_converter import CurrencyConverter, RateNotFoundError

from pricing.errors import NotFound

# Older than this is said to the user; older than the second is refused.
STALE_DAYS = 7
OLDEST_DAYS = 60
REFERENCE_BASE = "EUR"


@dataclass(frozen=True)
class DatedRate:
    """Units of the base for one unit of the currency, and the day for which that was published."""

    rate: Decimal
    day: date


class Rates(Protocol):
    """Anything that knows exchange rates."""

    def rate(self, currency: str, base: str, day: date) -> DatedRate:
        """Return the last rate published on or before ``day``, at most ``OLDEST_DAYS`` before it.

        Raises:
            NotFound: No such rate.
        """
        ...


class ReferenceRates:
    """The embedded reference rates; the table is loaded when the first rate is wanted."""

    def rate(self, currency: str, base: str, day: date) -> DatedRate:
        """Return the last rate published on or before ``day``.

        Raises:
            NotFound: The table has not both currencies, or no rate within ``OLDEST_DAYS`` before the day.
        """
        if currency == base:
            return DatedRate(Decimal(1), day)
        for code in (currency, base):
            if code not in self._table.currencies:
                raise NotFound(f"the embedded reference rates do not have {code}; give a file of rates")
        one, paid_on = self._per_euro(currency, day)
        other, quoted_on = self._per_euro(base, day)
        return DatedRate(other / one, min(paid_on, quoted_on))

    @cached_property
    def _table(self) -> CurrencyConverter:
        return CurrencyConverter(decimal=True)

    def _per_euro(self, currency: str, day: date) -> tuple[Decimal, date]:
        if currency == REFERENCE_BASE:
            return Decimal(1), day
        for back in range(OLDEST_DAYS + 1):
            published = day - timedelta(days=back)
            try:
                rate = self._table.convert(Decimal(1), REFERENCE_BASE, currency, date=published)
            except RateNotFoundError:
                continue
            return rate, published
        bounds = self._table.bounds[currency]
        span = f"they reach from {bounds.first_date} to {bounds.last_date}"
        raise NotFound(f"the embedded reference rates have no {currency} within {OLDEST_DAYS} days; {span}")


@dataclass(frozen=True, eq=False)
class TableRates:
    """Rates from a file: for each currency its days in order, and units of it for one unit of the base.

    Attributes:
        base: The currency that the file's rates are per.
        days: Currency -> days, ascending.
        per_base: Currency -> units of the currency for one of the base, as many as days.
    """

    base: str
    days: Mapping[str, tuple[date, ...]]
    per_base: Mapping[str, tuple[Decimal, ...]]

    def rate(self, currency: str, base: str, day: date) -> DatedRate:
        """Return the last rate on or before ``day``.

        Raises:
            NotFound: The file has not both currencies, or no rate within ``OLDEST_DAYS`` before the day.
        """
        if currency == base:
            return DatedRate(Decimal(1), day)
        one, paid_on = self._per_base(currency, day)
        other, quoted_on = self._per_base(base, day)
        return DatedRate(other / one, min(paid_on, quoted_on))

    def _per_base(self, currency: str, day: date) -> tuple[Decimal, date]:
        if currency == self.base:
            return Decimal(1), day
        days = self.days.get(currency, ())
        place = bisect_right(days, day) - 1
        if place < 0 or (day - days[place]).days > OLDEST_DAYS:
            raise NotFound(f"the file of rates has no {currency} within {OLDEST_DAYS} days before {day}")
        return self.per_base[currency][place], days[place]


def table_rates(base: str, known: Iterable[tuple[date, str, Decimal]]) -> TableRates:
    """Return rates as a table, from a day, a currency and its units for one of the base each; at most one a day."""
    by_currency: dict[str, list[tuple[date, Decimal]]] = {}
    for day, currency, per_base in known:
        by_currency.setdefault(currency, []).append((day, per_base))
    ordered = {currency: sorted(rates) for currency, rates in by_currency.items()}
    return TableRates(
        base=base,
        days={currency: tuple(day for day, _ in rates) for currency, rates in ordered.items()},
        per_base={currency: tuple(rate for _, rate in rates) for currency, rates in ordered.items()},
    )
