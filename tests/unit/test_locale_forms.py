"""How locales write numbers, units, days, money and lists."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from babel.lists import format_list

from listing_templates.language import language_tags, read_language
from listing_templates.locale_forms import country_in, counts_one, day_in, list_in, measure_in, money_in, number_in
from pricing.records.money import Money

AMOUNT = Money(amount=Decimal("12345.5"), currency="EUR")


def plain(text: str) -> str:
    return text.replace("\u00a0", " ").replace("\u202f", " ")


@pytest.mark.parametrize(
    ("locale", "storage", "length", "screen", "day", "money"),
    [
        ("en_GB", "128 GB", "4.5 mm", "13.3 inches", "3 March 2026", "€12,345.50"),
        ("de", "128 GB", "4,5 mm", "13,3 Zoll", "3. März 2026", "12.345,50 €"),
        ("fr", "128 Go", "4,5 mm", "13,3 pouces", "3 mars 2026", "12 345,50 €"),
        ("es", "128 GB", "4,5 mm", "13,3 pulgadas", "3 de marzo de 2026", "12.345,50 €"),
    ],
)
def test_each_locale_writes_in_its_own_way(locale, storage, length, screen, day, money) -> None:
    assert plain(measure_in(locale, Decimal(128), "GB")) == storage
    assert plain(measure_in(locale, Decimal("4.50"), "mm")) == length
    assert plain(measure_in(locale, Decimal("13.3"), "inch")) == screen
    assert day_in(locale, date(2026, 3, 3)) == day
    assert plain(money_in(locale, AMOUNT)) == money


def test_a_unit_that_cldr_does_not_know_stands_behind_the_number() -> None:
    assert measure_in("de", Decimal("2.5"), "stops") == "2,5 stops"
    assert measure_in("de", Decimal("1E+400"), "GB") == "1E+400 GB"


@pytest.mark.parametrize("tag", language_tags())
@pytest.mark.parametrize("words", [[], ["a"], ["a", "b"], ["a", "b", "c"], list("abcdef")])
def test_lists_read_as_babel_writes_them(tag: str, words: list[str]) -> None:
    locale = read_language(tag).locale
    assert list_in(locale, words) == str(format_list(words, locale=locale))


def test_french_counts_nothing_in_the_singular() -> None:
    assert [counts_one("fr", count) for count in (0, 1, 2)] == [True, True, False]
    assert [counts_one("de", count) for count in (0, 1, 2)] == [False, True, False]


def test_a_country_is_named_in_the_language_or_by_its_code() -> None:
    assert (country_in("de", "fr"), country_in("fr", "de")) == ("Frankreich", "Allemagne")
    assert country_in("en_GB", "qq") == "QQ"
    assert number_in("de", Decimal("84.50")) == "84,5"


# Real Academia Española on the conjunction "y", from memory: "e" before i and hi, "y" before hie, hia and y.
@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("Bluetooth", "imagen por USB-C"), "Bluetooth e imagen por USB-C"),
        (("aguja", "hilo"), "aguja e hilo"),
        (("agua", "hielo"), "agua y hielo"),
        (("wifi", "GPS", "imán"), "wifi, GPS e imán"),
        (("imán", "wifi"), "imán y wifi"),
    ],
)
def test_spanish_says_e_before_the_sound_of_i(words: tuple[str, ...], said: str) -> None:
    assert list_in("es", words) == said
