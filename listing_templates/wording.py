"""Words for facts: fills the language's patterns, and writes numbers, days and money as its locale does."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from listing_templates.catalogues import Pattern, class_catalogue
from listing_templates.language import Language, read_language
from listing_templates.locale_forms import (
    country_in,
    counts_one,
    day_in,
    list_in,
    measure_in,
    money_in,
    number_in,
    separators_of,
)
from listing_templates.plain_text import visible
from pricing.records.money import Money

CAPITAL_NOUNS = frozenset({"de"})


class Wording:
    """One language's way to say things.

    Attributes:
        language: The data it reads from.
    """

    def __init__(self, tag: str = "en") -> None:
        self.language: Language = read_language(tag)
        self._locale = self.language.locale
        self._texts = class_catalogue(tag)

    def sentence(self, name: str, /, *, count: int | None = None, **values: str) -> str:
        """Return the sentence with this identifier, its fields filled.

        ``count`` chooses between the singular and the plural pattern and fills ``{count}``.
        """
        return self._filled(self.language.sentences[name], count, values).strip()

    def phrase(self, name: str, /, *, count: int | None = None, **values: str) -> str:
        """Return a piece of a sentence, its fields filled."""
        return self._filled(self.language.phrases[name], count, values)

    def mark_kind(self, kind: str, count: int) -> str:
        """Return "one scratch" or "3 scratches"; a kind that the language does not list stays as it is."""
        pattern = self.language.kinds.get(kind, Pattern(other="{count} × {kind}"))
        return self._filled(pattern, count, {"kind": kind})

    def known_phrase(self, name: str, /) -> str | None:
        """Return a phrase without fields, or None where there is none of this name."""
        pattern = self.language.phrases.get(name)
        return None if pattern is None else pattern.other

    def country(self, code: str) -> str:
        """Return the name of a country ("de" -> "Germany"); its code in capitals where CLDR has none."""
        return country_in(self._locale, code)

    def text(self, text: str) -> str:
        """Return a text of the packaged classes in this language; any other text as it is."""
        return self._texts.get(text, text)

    def inner(self, words: str) -> str:
        """Return words as they stand inside a sentence: with a small letter, where the language writes nouns so."""
        if self.language.tag in CAPITAL_NOUNS or any(char.isupper() for char in words[1:].split(" ", 1)[0]):
            return words
        return words[:1].lower() + words[1:]

    def number(self, value: Decimal | float) -> str:
        """Return a number with the locale's signs and without needless zeros."""
        return number_in(self._locale, value if isinstance(value, Decimal) else Decimal(repr(value)))

    def measure(self, value: Decimal, unit: str) -> str:
        """Return a number with its unit as the locale writes it ("4 mm", "128 GB", in French "128 Go")."""
        return measure_in(self._locale, value, unit)

    def day(self, day: date) -> str:
        """Return the day in the locale's long form ("3 March 2026")."""
        return day_in(self._locale, day)

    def money(self, money: Money) -> str:
        """Return the amount rounded to the currency's minor unit, with the currency's sign."""
        return money_in(self._locale, money)

    def listed(self, words: Sequence[str]) -> str:
        """Return "a, b and c"; words that contain the "and" themselves come first, so that the list reads clearly."""
        joint = separators_of(self._locale)[2]
        return list_in(self._locale, sorted(words, key=lambda word: joint in word, reverse=True))

    def enumerated(self, words: Sequence[str]) -> str:
        """Return "a, b, c", for entries that are no words of one sentence."""
        # CLDR's own list of that kind is without a pattern for some languages (de, es) in Babel.
        return ", ".join(words)

    def opening(self, words: str) -> str:
        """Return words with a capital letter at the start, unless the first word has its own capitals ("eSIM")."""
        first = words.split(" ", 1)[0]
        return words if any(char.isupper() for char in first) else words[:1].upper() + words[1:]

    def _filled(self, pattern: Pattern, count: int | None, values: dict[str, str]) -> str:
        chosen = pattern.other
        if count is not None:
            if pattern.one is not None and counts_one(self._locale, count):
                chosen = pattern.one
            values = {**values, "count": self.number(Decimal(count))}
        return visible(chosen.format_map({name: visible(value) for name, value in values.items()}))
