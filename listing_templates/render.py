"""A unit as a finished listing: plain text, Markdown, a self-contained HTML page, or linked data.

Templates run in a sandbox that cannot change what it is given; an unknown variable is an error. Text of a unit
reaches them as data and is escaped for the format at the one place where it is printed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from datetime import date
from functools import cache, lru_cache
from importlib.resources import files
from itertools import groupby

from jinja2 import BaseLoader, DictLoader, StrictUndefined
from markupsafe import Markup

from listing_templates.composition import sentences_of
from listing_templates.context import ListingContext, PictureContext, SectionContext, SentenceContext
from listing_templates.fact_texts import facts_in
from listing_templates.illustrations import Illustration, placed
from listing_templates.json_ld import described, linked_data
from listing_templates.plain_text import clipped, escaped
from listing_templates.sandbox import ListingSandbox
from listing_templates.shortening import BodyOf, fitted, fitted_title
from listing_templates.trade_condition import condition_of
from listing_templates.wording import Wording
from pricing.errors import ListingRefused
from pricing.records.channel import Channel
from pricing.records.device_class import DeviceClass
from pricing.records.listing import Format, Listing, Sentence
from pricing.records.money import Money
from pricing.records.shop_terms import ShopTerms
from pricing.records.unit import Unit

TEMPLATES: Mapping[Format, str] = {
    "text": "listing.txt.j2",
    "markdown": "listing.md.j2",
    "html": "listing.html.j2",
}
SHEET = "sheet.html.j2"
DEVIATIONS = "deviations.html.j2"


def render_listing(
    unit: Unit,
    device_class: DeviceClass,
    *,
    format: Format,
    language: str = "en",
    on: date | None = None,
    price: Money | None = None,
    channel: Channel | None = None,
    terms: ShopTerms | None = None,
    illustrations: Sequence[Illustration] = (),
) -> Listing:
    """Return the unit's listing; ``on`` is the day it is written for, ``price`` replaces the unit's own ask.

    With a channel its limits are kept: descriptions shrink, disclosures stay. With ``terms`` the listing says on
    which terms the shop sells, and what its law asks for on that day. A page shows the ``illustrations`` unless the
    channel limits its length; linked data names those that have an address.

    Raises:
        NotFound: There is no such language.
        ListingRefused: The channel does not take the format, or has no room for what must be said.
    """
    _refuse_other_formats(channel, format)
    wording = Wording(language)
    whole = sentences_of(unit, device_class, wording, price, terms=terms, on=on)
    sentences = _with_fitted_title(whole, wording, None if channel is None else channel.title_limit)
    listing = Listing(
        unit_number=None if unit.number is None else clipped(unit.number, 80),
        language=language,
        format=format,
        on=on,
        title=_title(sentences),
        sentences=sentences,
        body="",
        price=price or unit.ask,
        condition=condition_of(sentences),
        images=tuple(each.address for each in illustrations if each.address),
    )
    linked = format == "json-ld"
    shown = _shown_in(format, channel, illustrations)
    labels = {fact.key: fact.label for fact in facts_in(unit, device_class, language)} if shown else {}
    made = fitted(
        sentences,
        _linked_data(listing, unit, device_class, wording, terms) if linked else _page(listing, wording, shown, labels),
        None if channel is None else channel.body_limit,
        (lambda document: len(described(document))) if linked else len,
    )
    left_off = _left_off(whole, made.sentences)
    photos = tuple(dict.fromkeys(each.digest for each in shown))
    made_of = {"sentences": made.sentences, "body": made.body, "left_off": left_off, "photos": photos}
    return listing.model_copy(update=made_of)


def _left_off(whole: tuple[Sentence, ...], made: tuple[Sentence, ...]) -> tuple[Sentence, ...]:
    """Return the sentences that did not stay as they were."""
    if made == whole:
        return ()
    kept = {(sentence.id, sentence.text) for sentence in made}
    return tuple(sentence for sentence in whole if (sentence.id, sentence.text) not in kept)


def _shown_in(
    format: Format, channel: Channel | None, illustrations: Sequence[Illustration]
) -> tuple[Illustration, ...]:
    """Return the illustrations that the body shows or names."""
    if format == "json-ld":
        return tuple(each for each in illustrations if each.address)
    # A place that counts characters takes pictures by themselves, beside the text.
    unlimited = channel is None or channel.body_limit is None
    return tuple(illustrations) if format == "html" and unlimited else ()


def _refuse_other_formats(channel: Channel | None, format: Format) -> None:
    if channel is not None and format not in channel.formats:
        taken = ", ".join(channel.formats)
        raise ListingRefused(f"channel {channel.name} takes listings as {taken}; found {format}")


def _with_fitted_title(
    sentences: tuple[Sentence, ...], wording: Wording, limit: int | None
) -> tuple[Sentence, ...]:
    if limit is None:
        return sentences
    patterns = wording.language.sentences
    return tuple(
        fitted_title(sentence, patterns[sentence.id].other, limit) if sentence.section == "title" else sentence
        for sentence in sentences
    )


def _page(
    listing: Listing, wording: Wording, illustrations: Sequence[Illustration], labels: Mapping[str, str]
) -> BodyOf:
    """Return what writes sentences as a body of the listing's format."""
    template = environment(listing.format).get_template(TEMPLATES[listing.format])
    names = [field.name for field in fields(ListingContext)]

    def body_of(sentences: Sequence[Sentence]) -> str:
        """Return the body with these sentences."""
        context = context_of(sentences, wording, listing.on, illustrations, labels)
        return template.render({name: getattr(context, name) for name in names})

    return body_of


def _linked_data(
    listing: Listing, unit: Unit, device_class: DeviceClass, wording: Wording, terms: ShopTerms | None
) -> BodyOf:
    facts = facts_in(unit, device_class, wording.language.tag)

    def body_of(sentences: Sequence[Sentence]) -> str:
        """Return the body with these sentences."""
        context = context_of(sentences, wording, listing.on)
        return linked_data(listing.model_copy(update={"sentences": tuple(sentences)}), facts, context, terms)

    return body_of


def context_of(
    sentences: Sequence[Sentence],
    wording: Wording,
    on: date | None,
    illustrations: Sequence[Illustration] = (),
    labels: Mapping[str, str] | None = None,
) -> ListingContext:
    """Return what the templates are given for these sentences; ``labels`` of facts say what a picture shows."""
    beside = placed(sentences, illustrations)
    others = [
        (
            sentence.section,
            _seen(sentence, beside[place], labels or {})
            if place in beside
            else _unillustrated(sentence.text, sentence.disclosure),
        )
        for place, sentence in enumerate(sentences)
        if sentence.section != "title"
    ]
    headings = wording.language.headings
    return ListingContext(
        language=wording.language.tag,
        title=_title(sentences),
        sections=tuple(
            SectionContext(name=name, heading=headings[name], sentences=tuple(seen for _, seen in alike))
            for name, alike in groupby(others, key=lambda other: other[0])
        ),
        written="" if on is None else wording.phrase("written", day=wording.day(on)),
        warning=wording.phrase("warning"),
    )


@cache
def environment(format: Format) -> ListingSandbox:
    """Return the sandbox for a format; ``escaped`` is applied to everything that a template prints."""
    made = ListingSandbox(
        loader=_loader(),
        undefined=StrictUndefined,
        autoescape=format == "html",
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    # Plain text is escaped by nothing, and HTML by jinja2 itself.
    if format not in ("html", "text"):
        made.finalize = lambda value: escaped(str(value), format)
    return made


def shown(text: str, format: Format) -> str:
    """Return a sentence's text as it stands in the body of this format."""
    return str(Markup.escape(text)) if format == "html" else escaped(text, format)


@cache
def _loader() -> BaseLoader:
    folder = files("listing_templates.templates")
    names = (*TEMPLATES.values(), SHEET, DEVIATIONS)
    return DictLoader({name: (folder / name).read_text(encoding="utf-8") for name in names})


def _title(sentences: Sequence[Sentence]) -> str:
    return " ".join(sentence.text for sentence in sentences if sentence.section == "title")


# A unit is written in several formats and for many page views; its sentences are the same each time.
@lru_cache(maxsize=4096)
def _unillustrated(text: str, disclosure: bool) -> SentenceContext:
    return SentenceContext(text=text, kind="disclosure" if disclosure else "description", pictures=())


def _seen(
    sentence: Sentence, illustrations: Sequence[Illustration], labels: Mapping[str, str]
) -> SentenceContext:
    return replace(
        _unillustrated(sentence.text, sentence.disclosure),
        pictures=tuple(
            PictureContext(source=each.source, alt=next((labels[key] for key in each.facts if key in labels), ""))
            for each in illustrations
        ),
    )
