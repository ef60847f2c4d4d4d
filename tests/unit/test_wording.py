from __future__ import annotations

import string
from datetime import date
from decimal import Decimal
from typing import get_args

import pytest

from listing_templates.language import language_tags, read_language
from listing_templates.wording import Wording
from pricing.errors import NotFound
from pricing.records.device_class import MARK_KINDS, ORIGINS
from pricing.records.listing import Section
from pricing.records.money import Money
from pricing.records.unit import LiquidIndicator


@pytest.fixture
def words() -> Wording:
    return Wording("en")


def test_days_numbers_and_money_are_written_as_the_locale_does(words: Wording) -> None:
    assert words.day(date(2026, 3, 3)) == "3 March 2026"
    assert words.number(Decimal("84.50")) == "84.5"
    assert words.number(2021.0) == "2021"
    assert words.money(Money(amount=Decimal("1234.565"), currency="EUR")) == "€1,234.56"
    assert words.money(Money(amount=Decimal("1.2345"), currency="KWD")).replace("\u00a0", "") == "KWD1.234"


def test_a_list_puts_words_with_their_own_and_first(words: Wording) -> None:
    assert words.listed(["fan"]) == "fan"
    assert words.listed(["fan", "hinge", "flash and torch"]) == "flash and torch, fan and hinge"


def test_the_first_letter_is_raised_unless_the_word_has_capitals_of_its_own(words: Wording) -> None:
    assert words.opening("ultra-wide camera") == "Ultra-wide camera"
    assert words.opening("eSIM") == "eSIM"
    assert words.opening("") == ""


def test_counts_choose_singular_or_plural(words: Wording) -> None:
    assert words.mark_kind("scratch", 1) == "one scratch"
    assert words.mark_kind("scratch", 3) == "3 scratches"
    assert words.mark_kind("moss", 2) == "2 × moss"


def test_braces_in_a_value_stay_as_they_are(words: Wording) -> None:
    text = words.sentence("function.dead", label="{label} {0} {x.__class__}", when="", symptom="")
    assert text == "{label} {0} {x.__class__}: not working."


def test_a_number_beyond_all_measure_is_still_written(words: Wording) -> None:
    assert words.number(Decimal("1E+400")) == "1E+400"


def test_an_unknown_language_is_refused_with_those_there_are() -> None:
    with pytest.raises(NotFound, match="there are en, de, es, fr"):
        read_language("xx")


@pytest.mark.parametrize("tag", language_tags())
def test_each_language_has_every_heading_kind_and_state(tag: str) -> None:
    language = read_language(tag)
    assert set(language.headings) == set(get_args(Section))
    assert set(language.kinds) == set(MARK_KINDS)
    liquid = {f"liquid.{state.replace(' ', '_')}" for state in get_args(LiquidIndicator)}
    parts = {f"part.{origin.replace('-', '_')}" for origin in (*ORIGINS, "unknown")}
    assert liquid | parts <= set(language.sentences)


@pytest.mark.parametrize("tag", language_tags())
def test_each_language_has_the_same_sentences_with_the_same_fields(tag: str) -> None:
    def fields(patterns: dict[str, object]) -> dict[str, set[str]]:
        return {name: named_in(str(getattr(pattern, "other"))) for name, pattern in patterns.items()}  # noqa: B009

    base, other = read_language("en"), read_language(tag)
    assert fields(dict(base.sentences)) == fields(dict(other.sentences))
    assert fields(dict(base.phrases)) == fields(dict(other.phrases))


def named_in(pattern: str) -> set[str]:
    names = {name for _, name, _, _ in string.Formatter().parse(pattern) if name is not None}
    assert all(name.isidentifier() for name in names), pattern
    return names


@pytest.mark.parametrize("tag", language_tags())
def test_our_sentences_have_no_exclamation(tag: str) -> None:
    language = read_language(tag)
    assert not any("!" in pattern.other for pattern in (*language.sentences.values(), *language.phrases.values()))
