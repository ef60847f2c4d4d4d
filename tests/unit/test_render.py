from __future__ import annotations

from dataclasses import fields
from datetime import date
from html.parser import HTMLParser

import pytest
from jinja2 import UndefinedError, meta, nodes
from jinja2.exceptions import SecurityError

from listing_templates.context import ListingContext, PictureContext, SectionContext, SentenceContext
from listing_templates.json_ld import described
from listing_templates.render import TEMPLATES, environment, render_listing, shown
from pricing.errors import ListingRefused, NotFound
from pricing.records.channel import Channel
from pricing.records.listing import FORMATS, Format
from pricing.records.money import Money
from tests.builders import healthy, small_class, small_unit, spotless

PAGES: tuple[Format, ...] = tuple(TEMPLATES)


def parsed(format: Format) -> nodes.Template:
    engine = environment(format)
    assert engine.loader is not None
    return engine.parse(engine.loader.get_source(engine, TEMPLATES[format])[0])


@pytest.mark.parametrize("format", PAGES)
def test_every_variable_of_a_template_is_a_field_of_the_context(format: Format) -> None:
    assert meta.find_undeclared_variables(parsed(format)) <= {field.name for field in fields(ListingContext)}


def test_every_field_of_the_context_is_used_and_explained() -> None:
    used: set[str] = set()
    for format in PAGES:
        template = parsed(format)
        used |= meta.find_undeclared_variables(template)
        used |= {f"{node.node.name}.{node.attr}" for node in template.find_all(nodes.Getattr)
                 if isinstance(node.node, nodes.Name)}  # fmt: skip
    listed = {field.name for field in fields(ListingContext)}
    listed |= {f"section.{field.name}" for field in fields(SectionContext)}
    listed |= {f"sentence.{field.name}" for field in fields(SentenceContext)}
    listed |= {f"picture.{field.name}" for field in fields(PictureContext)}
    assert used == listed
    for record in (ListingContext, SectionContext, SentenceContext, PictureContext):
        assert all(len(field.metadata["help"]) > 10 for field in fields(record))


@pytest.mark.parametrize("format", PAGES)
def test_the_sandbox_refuses_unknown_names_and_ways_out(format: Format) -> None:
    engine = environment(format)
    with pytest.raises(UndefinedError):
        engine.from_string("{{ nothing }}").render()
    with pytest.raises(SecurityError):
        engine.from_string("{{ ''.__class__.__mro__ }}").render()
    with pytest.raises(SecurityError):
        engine.from_string("{{ things.append(1) }}").render(things=[])


@pytest.mark.parametrize("format", FORMATS)
def test_each_sentence_stands_in_the_body_once_and_in_order(format: Format) -> None:
    listing = render_listing(small_unit(functions={"wifi": "dead"}), small_class(), format=format)
    places = [listing.body.rindex(shown(sentence.text, format)) for sentence in listing.sentences]
    assert places[1:] == sorted(places[1:])
    assert listing.sentences[0].text == listing.title


def test_the_listing_remembers_what_it_was_made_for() -> None:
    day, price = date(2026, 3, 5), Money.model_validate({"amount": "99.9", "currency": "EUR"})
    listing = render_listing(spotless(number="U7"), small_class(), format="text", on=day, price=price)
    assert (listing.unit_number, listing.language, listing.format, listing.on) == ("U7", "en", "text", day)
    assert "Written for 5 March 2026." in listing.body
    assert "Price: €99.90." in listing.body
    assert "Written for" not in render_listing(spotless(), small_class(), format="text").body


def test_plain_text_reads_as_lines_without_gaps_in_a_list() -> None:
    body = render_listing(spotless(functions=healthy(wifi="dead")), small_class(), format="text").body
    assert "\n\n\n" not in body
    assert "\nFaults\n- Wi-Fi: not working.\n" in body


def test_an_unknown_language_is_refused() -> None:
    with pytest.raises(NotFound):
        render_listing(spotless(), small_class(), format="text", language="xx")


def channel(**fields: object) -> Channel:
    return Channel.model_validate({"name": "stall", "title": "Stall", "currency": "EUR", **fields})


@pytest.mark.parametrize("format", FORMATS)
def test_a_channels_limit_takes_descriptions_and_leaves_disclosures(format: Format) -> None:
    unit = spotless(functions=healthy(wifi="dead"))
    whole = render_listing(unit, small_class(), format=format)
    size = len(described(whole.body) if format == "json-ld" else whole.body)
    shorter = render_listing(unit, small_class(), format=format, channel=channel(body_limit=size - 150))
    assert len(described(shorter.body) if format == "json-ld" else shorter.body) <= size - 150
    assert shorter.left_off
    assert not any(sentence.disclosure for sentence in shorter.left_off)
    assert all(shown(s.text, format) in shorter.body for s in whole.sentences if s.disclosure)
    assert not any(shown(s.text, format) in shorter.body for s in shorter.left_off)
    with pytest.raises(ListingRefused, match="allowed"):
        render_listing(unit, small_class(), format=format, channel=channel(body_limit=100))


def test_a_title_over_the_limit_is_told_as_left_off() -> None:
    unit = spotless(functions=healthy(wifi="dead"))
    shorter = render_listing(unit, small_class(), format="text", channel=channel(title_limit=24))
    assert (shorter.title, shorter.sentences[0].text) == ("Arvel N2, with faults", "Arvel N2, with faults")
    assert [sentence.text for sentence in shorter.left_off] == ["Arvel N2, talker, with faults"]
    assert shorter.body.startswith("Arvel N2, with faults\n")


def test_a_channel_that_does_not_take_a_format_says_which_it_takes() -> None:
    with pytest.raises(ListingRefused, match="takes listings as text, html; found markdown"):
        render_listing(spotless(), small_class(), format="markdown", channel=channel(formats=["text", "html"]))


class Outline(HTMLParser):
    """Collects tags and checks that they are closed in order."""

    void = frozenset({"meta", "br", "link", "img"})

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[str] = []
        self.links: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append(tag)
        self.links.extend(value or "" for name, value in attrs if name in ("src", "href"))
        if tag not in self.void:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_html_is_a_page_of_its_own_with_headings_and_lists() -> None:
    body = render_listing(small_unit(), small_class(), format="html", on=date(2026, 3, 5)).body
    outline = Outline()
    outline.feed(body)
    assert outline.open == []
    assert outline.links == []
    assert {"html", "head", "title", "main", "h1", "h2", "ul", "li", "section"} <= set(outline.seen)
    assert '<html lang="en">' in body
    assert "@media print" in body
    assert "script" not in outline.seen


def test_hostile_text_is_shown_not_obeyed() -> None:
    unit = spotless(functions=healthy(wifi={"status": "impaired", "symptom": "<b>{{7*7}}</b> # x"}))
    assert "&lt;b&gt;{{7*7}}&lt;/b&gt;" in render_listing(unit, small_class(), format="html").body
    assert r"\<b\>\{\{7\*7\}\}\</b\>" in render_listing(unit, small_class(), format="markdown").body
