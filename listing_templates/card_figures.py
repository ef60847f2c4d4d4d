"""How the figures of a model card read: percent with their sign, intervals, days, counts, tables of effects."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

from listing_templates.card_context import CardTable
from pricing.records.model_card import CardEffect

MINUS = "\N{MINUS SIGN}"


def signed(percent: float) -> str:
    """Return "+12.0 %", "−3.1 %" or "0.0 %"; from a thousand on without decimals."""
    digits = 1 if abs(percent) < 999.95 else 0
    told = f"{abs(percent):,.{digits}f}"
    if not float(told.replace(",", "")):
        return f"{told} %"
    return f"{'+' if percent > 0 else MINUS}{told} %"


def share(percent: float) -> str:
    """Return a share such as "79.5 %"."""
    return f"{percent:.1f} %"


def span(effect: CardEffect) -> str:
    """Return both ends of an effect's 95 % interval."""
    return f"{signed(effect.low_95)} to {signed(effect.high_95)}"


def number(value: float, unit: str = "") -> str:
    """Return a number with its unit; no thousands sign, because a year is a number too."""
    return f"{value:.10g} {unit}".strip()


def sales_of(effect: CardEffect) -> str:
    """Return the number of sales behind an effect."""
    if effect.sales is None:
        return "all"
    return "no sale had this" if effect.sales == 0 else f"{effect.sales:,}"


def effects_table(effects: Sequence[CardEffect], heading: str, *, priced: bool) -> CardTable:
    """Return a table of effects, with what the typical unit is worth with each when ``priced``."""
    columns = (heading, "effect", "95 % interval", "sales", *(("typical unit then",) if priced else ()))
    rows = [
        (effect.label, signed(effect.percent), span(effect), sales_of(effect), *((_price(effect),) if priced else ()))
        for effect in effects
    ]
    return CardTable(columns, tuple(rows))


def alike_table(effects: Iterable[CardEffect]) -> CardTable:
    """Return what no sale had; effects that read alike share a row, because only the prior tells them."""

    def read(effect: CardEffect) -> tuple[str, str]:
        """Return how an effect reads."""
        return signed(effect.percent), span(effect)

    ordered = sorted(effects, key=lambda effect: (effect.percent, effect.low_95, effect.label))
    rows = [("; ".join(each.label for each in alike), *key) for key, alike in groupby(ordered, key=read)]
    return CardTable(("no sale had this", "effect", "95 % interval"), tuple(rows))


def _price(effect: CardEffect) -> str:
    if effect.price is None:
        return ""
    amount = f"{effect.price.to_minor_unit().amount:,f}"
    return amount if effect.price.currency == "XXX" else f"{amount} {effect.price.currency}"
