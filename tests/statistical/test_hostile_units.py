"""Whatever text a unit holds, in every field: no exception, no broken page, document or sheet of cells."""

from __future__ import annotations

import csv
import json
from io import StringIO

import html5lib
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from listing_templates.feed import COLUMNS, csv_feed, ndjson_feed
from listing_templates.language import language_tags
from listing_templates.render import render_listing
from listing_templates.sheet import render_sheet
from pricing.records.listing import FORMATS
from pricing.records.unit import Unit
from tests.builders import small_class
from tests.counts import count
from tests.hostile import HOSTILE, hostile_unit

CLASS = small_class()
SIGNS = st.characters(exclude_categories=()) | st.sampled_from("<>&\"'`{}%=+-@\\|*_#\u202e\u2066\u200b\ufeff\x00\r\n\t")
TEXTS = st.text(SIGNS, max_size=40) | st.sampled_from([text[:300] for text in HOSTILE])
LAYOUT = {"html_block", "fence", "code_block", "table_open", "ordered_list_open", "blockquote_open", "hr"}
AMOUNTS = st.none() | st.builds(
    lambda amount, currency: {"amount": amount, "currency": currency},
    st.decimals(min_value=0, max_value=10**9, places=2),
    st.sampled_from(["EUR", "JPY", "KWD"]),
)


@st.composite
def units(draw):
    """A unit of the small class with another text in each place that holds text."""
    base = hostile_unit(CLASS, draw(TEXTS.filter(str.strip))).model_dump(by_alias=True)
    base["number"] = draw(st.none() | TEXTS)
    base["attributes"] = draw(st.dictionaries(st.sampled_from(["brand", "model", "storage_gb"]) | TEXTS, TEXTS))
    base["accessories"] = draw(st.lists(TEXTS, max_size=3))
    base["identity"] = draw(st.none() | TEXTS)
    base["observed"] = draw(st.lists(TEXTS, max_size=2))
    base["data_erased"] = draw(st.none() | TEXTS)
    base["marks"] = [{"surface": draw(TEXTS), "kind": draw(TEXTS), "count": draw(st.integers(1, 1000))}]
    base["locks"] = draw(
        st.dictionaries(TEXTS, st.fixed_dictionaries({"state": st.just("locked"), "way": TEXTS}), max_size=2)
    )
    base["ask"] = draw(AMOUNTS)
    return Unit.model_validate(base)


@settings(max_examples=count(500), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(units(), st.sampled_from(language_tags()))
def test_no_text_breaks_a_format(unit, language):
    made = {format: render_listing(unit, CLASS, format=format, language=language) for format in FORMATS}
    for listing in made.values():
        listing.body.encode("utf-8")
        assert not any(ord(sign) < 32 and sign != "\n" for sign in listing.body)
    page = html5lib.HTMLParser(strict=True).parse(made["html"].body)
    lines = list(page.iter("{http://www.w3.org/1999/xhtml}li"))
    assert ["".join(line.itertext()) for line in lines] == [s.text for s in made["html"].sentences[1:]]
    json.loads(made["json-ld"].body)
    html5lib.HTMLParser(strict=True).parse(render_sheet(made["html"], digest="9f"))


@settings(max_examples=count(500), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(units(), st.sampled_from(language_tags()))
def test_markdown_shows_each_sentence_as_it_is(unit, language):
    listing = render_listing(unit, CLASS, format="markdown", language=language)
    reader = MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"])
    tokens = reader.parse(listing.body)
    assert not {token.type for token in tokens} & LAYOUT
    texts = [token for token in tokens if token.type == "inline"]
    shown = ["".join(child.content for child in token.children) for token in texts]
    assert {child.type for token in texts for child in token.children} <= {"text", "text_special"}
    told = [sentence.text for sentence in listing.sentences[1:]]
    assert [text for text in shown if text in told] == told
    assert shown[0] == listing.title


@settings(max_examples=count(500), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(units(), st.sampled_from(FORMATS))
def test_no_text_breaks_the_feed_or_starts_a_formula(unit, format):
    listing = render_listing(unit, CLASS, format=format)
    (row,) = csv.DictReader(StringIO("".join(csv_feed([listing])), newline=""))
    assert list(row) == list(COLUMNS)
    assert not any(cell.startswith(tuple("=+-@\t\r")) for cell in row.values())
    assert json.loads("".join(ndjson_feed([listing])))["body"] == listing.body
