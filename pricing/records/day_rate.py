"""An exchange rate of a day, as the user knows it."""

from __future__ import annotations

from datetime import date

from pydantic import Field

from pricing.records.base import Record
from pricing.records.exact import ExactDecimal
from pricing.records.money import Currency


class DayRate(Record):
    """One unit of a base currency in another.

    Attributes:
        on: Its day.
        currency: The other currency.
        per_base: Units of it for one unit of the base.
    """

    on: date
    currency: Currency
    per_base: ExactDecimal = Field(gt=0)
