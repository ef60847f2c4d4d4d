"""Model cards: what a fit leaves beside its model for people to read."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from api.shop.charts import IntervalRow, interval_chart
from api.shop.files import write_text
from api.shop.models import Fit
from data.demo.brands import BRANDS
from listing_templates.card_sections import condition_effects, effects_of_kind
from listing_templates.model_card import CardFormat, render_card
from pricing.errors import BadInput, Problem
from pricing.estimation.card import model_card
from pricing.hedonic.model import THIN
from pricing.records.model_card import CardEffect, ModelCard

FORMATS: dict[str, CardFormat] = {".html": "html", ".md": "markdown"}
MOST_DRAWN = 40
_INVENTED = frozenset(brand for brands in BRANDS.values() for brand in brands)


def card_of(fit: Fit) -> ModelCard:
    """Return the card of a fit."""
    brands = fit.sales.condition.texts.get("brand")
    invented = brands is not None and bool(brands.levels) and _INVENTED.issuperset(brands.levels)
    return model_card(fit.model, fit.sales, notices=fit.notices, invented=invented)


def cards_beside(model: Path) -> tuple[Path, ...]:
    """Return where the cards of a model file go when nothing else is said: phone.card.html, phone.card.md."""
    return tuple(model.with_name(f"{model.stem}.card{ending}") for ending in FORMATS)


def write_cards(fit: Fit, paths: Sequence[Path]) -> ModelCard:
    """Write the card of a fit to each path, as HTML or Markdown by its ending.

    Raises:
        BadInput: A path ends otherwise, or cannot be written.
    """
    for path in paths:
        check_ending(path)
    card = card_of(fit)
    for path in paths:
        format = FORMATS[path.suffix.lower()]
        charts = charts_of(card) if format == "html" else None
        write_text(path, render_card(card, format=format, charts=charts))
    return card


def check_ending(path: Path) -> None:
    """Check that a card's path ends in .html or .md.

    Raises:
        BadInput: It does not.
    """
    if path.suffix.lower() not in FORMATS:
        problem = Problem(str(path), None, None, path.suffix or "no ending", "a file that ends in .html or .md")
        raise BadInput(str(problem), (problem,))


def charts_of(card: ModelCard) -> dict[str, str]:
    """Return the charts of a card by section: states, numbers, and groups with choices, 40 rows of each at most."""
    wanted = {
        "condition": (condition_effects(card), "Effects of faults, marks, locks and parts"),
        "numbers": (effects_of_kind(card, "number"), "Effects of numbers"),
        "groups": (effects_of_kind(card, "group", "choice"), "Effects of groups and choices"),
    }
    return {name: _chart(name, effects, title) for name, (effects, title) in wanted.items() if effects}


def _chart(name: str, effects: Sequence[CardEffect], title: str) -> str:
    drawn, axis = effects[:MOST_DRAWN], "percent of the price"
    if len(effects) > MOST_DRAWN:
        axis += f": the first {MOST_DRAWN} of {len(effects)} rows of the table"
    described = (
        f"{len(drawn)} rows. Each has a dot at the effect in percent of the price and a line over its 95 % "
        "interval, and in brackets its sales; a hollow dot rests on four or fewer. "
        "The same figures are in the table below."
    )
    rows = [
        IntervalRow(
            _label(effect), effect.percent, effect.low_95, effect.high_95,
            hollow=effect.sales is not None and effect.sales <= THIN,
        )
        for effect in drawn
    ]  # fmt: skip
    return interval_chart(name, rows, title=title, description=described, axis=axis)


def _label(effect: CardEffect) -> str:
    counted = effect.sales is not None and effect.kind != "number"
    return f"{effect.label} ({effect.sales:,})" if counted else effect.label
