"""A model card as a self-contained HTML page or as Markdown."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from functools import cache
from importlib.resources import files
from typing import Literal

from jinja2 import Template
from markupsafe import Markup

from listing_templates.card_context import CardContext
from listing_templates.card_sections import sections_of
from listing_templates.render import environment
from pricing.errors import counted
from pricing.records.model_card import ModelCard

CardFormat = Literal["html", "markdown"]
TEMPLATES: dict[CardFormat, str] = {"html": "model_card.html.j2", "markdown": "model_card.md.j2"}


def render_card(card: ModelCard, *, format: CardFormat, charts: Mapping[str, str] | None = None) -> str:
    """Return the text of a card.

    Args:
        card: Its figures.
        format: html or markdown; Markdown has tables and no charts.
        charts: Name of a section -> its chart as SVG, trusted as it is.
    """
    context = context_of(card, charts if format == "html" and charts is not None else {})
    return _template(format).render({field.name: getattr(context, field.name) for field in fields(context)})


def context_of(card: ModelCard, charts: Mapping[str, str]) -> CardContext:
    """Return what the templates are given."""
    day = "The sales are not dated" if card.on is None else f"Prices are for {card.on}, unless another day is asked"
    return CardContext(
        title=f"Model card: prices of the class {card.title}",
        lead=f"Model {card.fingerprint}, learnt from {counted(card.rows, 'sale')}. {day}.",
        warning="The goods are invented: nothing here means anything in the real world." if card.invented else "",
        sections=sections_of(card),
        charts={name: Markup(svg) for name, svg in charts.items()},  # noqa: S704 - drawn by us, labels escaped there
    )


@cache
def _template(format: CardFormat) -> Template:
    source = (files("listing_templates.templates") / TEMPLATES[format]).read_text(encoding="utf-8")
    return environment(format).from_string(source)
