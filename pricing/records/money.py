"""Money: a Decimal amount with its currency, and the one place where amounts are rounded."""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal, localcontext
from typing import Annotated

from babel.core import get_global
from babel.numbers import get_currency_precision
from pydantic import AfterValidator

from pricing.errors import BadInput, shortened
from pricing.records.base import Record

_KNOWN_CURRENCIES: frozenset[str] = frozenset(get_global("all_currencies"))
_USUAL_DIGITS = 20


def checked_currency(code: str) -> str:
    """Return the ISO 4217 code in capitals.

    Raises:
        BadInput: The code is not a currency that CLDR knows.
    """
    upper = code.strip().upper()
    if upper not in _KNOWN_CURRENCIES:
        raise BadInput(f"unknown currency {shortened(code)}; expected an ISO 4217 code such as EUR")
    return upper


def _currency_for_pydantic(code: str) -> str:
    try:
        return checked_currency(code)
    except BadInput as error:
        raise ValueError(str(error)) from error


Currency = Annotated[str, AfterValidator(_currency_for_pydantic)]


def minor_unit(currency: str) -> Decimal:
    """Return the smallest amount of a currency: 0.01 for EUR, 1 for JPY, 0.001 for KWD.

    Source: CLDR through babel, which follows ISO 4217 except for a few currencies (IQD, MGA).
    """
    return Decimal(1).scaleb(-get_currency_precision(currency))


def rounded(amount: Decimal, currency: str) -> Decimal:
    """Return ``amount`` to the currency's minor unit, half to even.

    Half to even is chosen because sums of many rounded lines then carry no drift.
    """
    if amount.adjusted() < _USUAL_DIGITS:
        return amount.quantize(minor_unit(currency), rounding=ROUND_HALF_EVEN)
    with localcontext() as context:  # absurd amounts need more digits than the usual 28, not an error
        context.prec = amount.adjusted() + _USUAL_DIGITS
        return amount.quantize(minor_unit(currency), rounding=ROUND_HALF_EVEN)


class Money(Record):
    """An amount of one currency.

    Attributes:
        amount: Any Decimal; use ``rounded`` before it is shown or summed.
        currency: ISO 4217 code.
    """

    amount: Decimal
    currency: Currency

    def to_minor_unit(self) -> Money:
        """Return the same money, rounded to the currency's minor unit."""
        return Money(amount=rounded(self.amount, self.currency), currency=self.currency)


def money_from_float(amount: float, currency: str) -> Money:
    """Return a model's number as money, rounded to the minor unit. The one way from floats to money."""
    return Money(amount=rounded(Decimal(repr(amount)), currency), currency=currency)
