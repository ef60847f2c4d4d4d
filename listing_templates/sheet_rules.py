"""The rule of consumer law that a line of the sheet serves, by country, as data with its day and source."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from datetime import date
from functools import cache
from importlib.resources import files

from pricing.errors import NotFound, shortened
from pricing.records.base import Record
from pricing.records.listing import Sentence

UNION = "eu"
_OTHER = "other"


class SheetRules(Record):
    """One country's rules.

    Attributes:
        law: Language -> what the law is called there.
        accepted: Where it says that a deviation has to be told, and accepted on its own.
        since: The day from which it holds.
        source: Where this was found.
        lines: First word of a sentence's identifier -> what that kind of line is measured by.
    """

    law: Mapping[str, str]
    accepted: str
    since: date
    source: str
    lines: Mapping[str, str]

    def rule_of(self, sentence: Sentence) -> str:
        """Return the rule that a line with this sentence serves."""
        return self.lines.get(sentence.id.split(".", 1)[0], self.lines[_OTHER])


def rules_of(country: str) -> SheetRules:
    """Return the rules of a country; "eu" is the directive that its members follow.

    Raises:
        NotFound: There are none; the message names those there are.
    """
    rules = _all_rules()
    if country.casefold() not in rules:
        raise NotFound(f"no rules for country {shortened(country)}; there are: {', '.join(rules)}")
    return rules[country.casefold()]


def known_rules(country: str) -> SheetRules | None:
    """Return the rules of a country, or None where there are none."""
    return _all_rules().get(country.casefold())


def law_in(rules: SheetRules, language: str) -> str:
    """Return what the law is called in a language; where that is not known, as the first language calls it."""
    return rules.law.get(language) or next(iter(rules.law.values()))


@cache
def _all_rules() -> dict[str, SheetRules]:
    text = (files("listing_templates") / "sheet_rules.toml").read_text(encoding="utf-8")
    return {country: SheetRules.model_validate(rules) for country, rules in tomllib.loads(text).items()}
