"""How a locale writes numbers, units, days, money and lists, by CLDR through Babel.

A listing asks for the same few days and counts again and again, so what Babel works out is kept.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from functools import cache, lru_cache
from typing import Literal

from babel import Locale
from babel.dates import format_date
from babel.numbers import format_currency, format_decimal
from babel.units import format_unit

from pricing.records.money import Money

# CLDR's names of the units that classes use; a unit that is not listed is written behind the number as it is.
UNITS = {
    "mm": "length-millimeter", "cm": "length-centimeter", "inch": "length-inch", "kg": "mass-kilogram",
    "g": "mass-gram", "MB": "digital-megabyte", "GB": "digital-gigabyte", "TB": "digital-terabyte", "W": "power-watt",
    "Hz": "frequency-hertz", "GHz": "frequency-gigahertz", "V": "electric-volt", "A": "electric-ampere",
    "h": "duration-hour",
}  # fmt: skip
_BEYOND = 10**15
_MOST_DIGITS = 20
_KEPT = 4096


@lru_cache(maxsize=_KEPT)
def number_in(locale: str, value: Decimal) -> str:
    """Return a number with the locale's signs and without needless zeros."""
    if value.is_finite() and abs(value.adjusted()) < _MOST_DIGITS:
        return str(format_decimal(value, locale=locale, decimal_quantization=False, group_separator=False))
    return str(value)


@lru_cache(maxsize=_KEPT)
def measure_in(locale: str, value: Decimal, unit: str) -> str:
    """Return a number with its unit as the locale writes it ("4 mm", "128 GB", in French "128 Go")."""
    named = UNITS.get(unit)
    if named is None or not value.is_finite() or abs(value) >= _BEYOND:
        return f"{number_in(locale, value)} {unit}"
    # The short form of inch is a preposition in English, so it would be misread.
    length: Literal["long", "short"] = "long" if unit == "inch" else "short"
    return str(format_unit(value, named, length=length, format="0.####", locale=locale))


@lru_cache(maxsize=_KEPT)
def day_in(locale: str, day: date) -> str:
    """Return the day in the locale's long form ("3 March 2026")."""
    return str(format_date(day, "long", locale=locale))


def money_in(locale: str, money: Money) -> str:
    """Return the amount rounded to the currency's minor unit, with the currency's sign."""
    exact = money.to_minor_unit()
    return str(format_currency(exact.amount, exact.currency, locale=locale))


def country_in(locale: str, code: str) -> str:
    """Return the name of a country ("de" -> "Germany"); its code in capitals where CLDR has none."""
    return str(Locale.parse(locale).territories.get(code.upper(), code.upper()))


@lru_cache(maxsize=_KEPT)
def counts_one(locale: str, count: int) -> bool:
    """Return whether the language uses its singular for this count (French does for 0)."""
    return Locale.parse(locale).plural_form(count) == "one"


# Spanish says "e" for "y" before the sound of i, not before "hie" (Real Academia Española, from memory).
_SPANISH_I = re.compile(r"(?:i|hi(?![aeo]))", re.IGNORECASE)


def list_in(locale: str, words: Sequence[str]) -> str:
    """Return "a, b and c"."""
    middle, last, only = separators_of(locale)
    if locale.startswith("es") and words and _SPANISH_I.match(words[-1]) is not None:
        last, only = last.replace(" y ", " e "), only.replace(" y ", " e ")
    if len(words) <= 2:
        return only.join(words)
    return middle.join(words[:-1]) + last + words[-1]


@cache
def separators_of(locale: str) -> tuple[str, str, str]:
    """Return what stands between entries of a long list, before its last entry, and between only two."""
    patterns = Locale.parse(locale).list_patterns["standard"]
    middle, last, only = (patterns[name].removeprefix("{0}").removesuffix("{1}") for name in ("middle", "end", "2"))
    return middle, last, only
