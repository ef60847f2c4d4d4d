"""A unit as a finished listing: plain text, Markdown or a self-contained HTML page.

Templates run in a sandbox that cannot change what it is given; an unknown variable is an error. Text of a unit
reaches them as data and is escaped for the format at the one place where it is printed.
"""

from __future__ import annotations

from dataclasses import fields
from datetime import date
from functools import cache
from importlib.resources import files
from itertools import groupby

from jinja2 import BaseLoader, DictLoader, StrictUndefined
from jinja2.sandbox import ImmutableSandboxedEnvironment
from markupsafe import Markup

from listing_templates.composition import sentences_of
from listing_templates.context import ListingContext, SectionContext, SentenceContext
from listing_templates.plain_text import clipped, escaped
from listing_templates.wording import Wording
from pricing.records.device_class import DeviceClass
from pricing.records.listing import Format, Listing, Sentence
from pricing.records.money import Money
from pricing.records.unit import Unit

TEMPLATES: dict[Format, str] = {
    "text": "listing.txt.j2",
    "markdown": "listing.md.j2",
    "html": "listing.html.j2",
}


def render_listing(
    unit: Unit,
    device_class: DeviceClass,
    *,
    format: Format,
    language: str = "en",
    on: date | None = None,
    price: Money | None = None,
) -> Listing:
    """Return the unit's listing; ``on`` is the day it is written for, ``price`` replaces the unit's own ask.

    Raises:
        NotFound: There is no such language.
    """
    wording = Wording(language)
    sentences = sentences_of(unit, device_class, wording, price)
    context = context_of(sentences, wording, on)
    template = environment(format).get_template(TEMPLATES[format])
    body = template.render({field.name: getattr(context, field.name) for field in fields(context)})
    return Listing(
        unit_number=None if unit.number is None else clipped(unit.number, 80),
        language=language,
        format=format,
        on=on,
        title=context.title,
        sentences=sentences,
        body=body,
    )


def context_of(sentences: tuple[Sentence, ...], wording: Wording, on: date | None) -> ListingContext:
    """Return what the templates are given for these sentences."""
    title = " ".join(sentence.text for sentence in sentences if sentence.section == "title")
    others = [sentence for sentence in sentences if sentence.section != "title"]
    headings = wording.language.headings
    return ListingContext(
        language=wording.language.tag,
        title=title,
        sections=tuple(
            SectionContext(name=name, heading=headings[name], sentences=tuple(_seen(s) for s in alike))
            for name, alike in groupby(others, key=lambda sentence: sentence.section)
        ),
        written="" if on is None else wording.phrase("written", day=wording.day(on)),
        warning=wording.phrase("warning"),
    )


@cache
def environment(format: Format) -> ImmutableSandboxedEnvironment:
    """Return the sandbox for a format; ``escaped`` is applied to everything that a template prints."""
    made = ImmutableSandboxedEnvironment(
        loader=_loader(),
        undefined=StrictUndefined,
        autoescape=format == "html",
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    if format != "html":
        made.finalize = lambda value: escaped(str(value), format)
    return made


def shown(text: str, format: Format) -> str:
    """Return a sentence's text as it stands in the body of this format."""
    return str(Markup.escape(text)) if format == "html" else escaped(text, format)


@cache
def _loader() -> BaseLoader:
    folder = files("listing_templates.templates")
    return DictLoader({name: (folder / name).read_text(encoding="utf-8") for name in TEMPLATES.values()})


def _seen(sentence: Sentence) -> SentenceContext:
    return SentenceContext(text=sentence.text, kind="disclosure" if sentence.disclosure else "description")
