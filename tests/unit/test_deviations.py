"""The form and the message: every disclosure a box of its own, none ticked, in every language, whatever the text."""

from __future__ import annotations

from dataclasses import fields
from datetime import date
from html import unescape

import html5lib
import pytest
from jinja2 import meta

from listing_templates.deviations import BoxContext, FormContext, deviation_message, deviations_of, render_form
from listing_templates.render import DEVIATIONS, environment, render_listing
from pricing.records.publication import Publication
from tests.builders import healthy, small_class, spotless
from tests.hostile import HOSTILE, hostile_unit

XHTML = "{http://www.w3.org/1999/xhtml}"
FAULTY = {"functions": healthy(wifi="dead"), "parts": [{"part": "cell", "origin": "salvaged"}], "opened": "by others"}


def published(unit=None, country="eu"):
    unit = unit or spotless(number="U7", **FAULTY)
    listing = render_listing(unit, small_class(), format="text", on=date(2026, 3, 5))
    return Publication(
        listing=listing,
        text_digest="a" * 64,
        unit=spotless(),
        unit_version=1,
        facts=(),
        deviations=deviations_of(listing.sentences, country),
        confirmed_by="desk",
        program="1",
    )


def inputs(form, kind):
    page = html5lib.HTMLParser(strict=form.startswith("<!DOCTYPE")).parse(form)
    return [tag for tag in page.iter(f"{XHTML}input") if tag.get("type") == kind]


def labels(form):
    page = html5lib.HTMLParser(strict=form.startswith("<!DOCTYPE")).parse(form)
    return {label.get("for"): "".join(label.itertext()) for label in page.iter(f"{XHTML}label")}


@pytest.mark.parametrize("whole", [True, False])
@pytest.mark.parametrize("accepted", [None, [], [1, 2]])
def test_every_line_has_a_box_with_a_label_and_none_is_ticked(whole, accepted):
    said = published()
    form = render_form(said, "de", whole=whole, accepted=accepted)
    boxes = inputs(form, "checkbox")
    assert [box.get("value") for box in boxes] == [str(line.number) for line in said.deviations]
    assert len(boxes) > 3
    assert all(box.get("checked") is None and box.get("name") == "line" for box in boxes)
    for line, box in zip(said.deviations, boxes, strict=True):
        assert labels(form)[box.get("id")].startswith(f"{line.number}. {line.text}")
    assert "<script" not in form
    assert ("<html" in form) == whole


def test_every_disclosure_is_a_line_with_the_rule_of_its_country():
    said = published()
    assert [line.text for line in said.deviations] == [s.text for s in said.listing.sentences if s.disclosure]
    assert all(line.rule.startswith("Art. 7") and line.facts for line in said.deviations)
    for country in ("zz", None):
        assert {line.rule for line in published(country=country).deviations} == {""}
    assert "BGB" in render_form(said, "de")
    assert "Directive" not in render_form(said, None)


def test_the_form_sends_back_which_text_and_which_order_it_is_about():
    given = {tag.get("name"): tag.get("value") for tag in inputs(render_form(published(), None, buyer="B-9"), "hidden")}
    assert given == {"text_digest": "a" * 64, "buyer": "B-9"}
    (asked,) = inputs(render_form(published(), None), "text")
    assert (asked.get("name"), asked.get("value")) == ("buyer", None)
    assert labels(render_form(published(), None))[asked.get("id")] == "Number of your order"


def test_an_answer_that_is_not_complete_names_the_open_lines_and_a_complete_one_shows_no_box():
    said = published()
    numbers = [line.number for line in said.deviations]
    still = render_form(said, None, buyer="B-9", accepted=numbers[1:-1])
    assert f"Not complete yet: line 1, line {numbers[-1]}." in still
    done = render_form(said, None, buyer="B-9", accepted=numbers)
    assert "Every line is accepted under B-9." in done
    assert inputs(done, "checkbox") == []
    assert all(line.text in unescape(done) for line in said.deviations)


def test_a_message_has_every_line_with_its_number_the_law_and_the_digest():
    said = published()
    message = deviation_message(said, "gb")
    for line in said.deviations:
        assert f"\n{line.number}. {line.text} ({line.rule})\n" in message
    for words in ("before you pay", "Consumer Rights Act 2015", "a" * 64, f"{len(said.deviations)} lines in all"):
        assert words in message


def test_a_unit_without_deviations_asks_for_nothing():
    clean = published(spotless())
    assert clean.deviations == ()
    assert deviation_message(clean, "eu") == ""
    form = render_form(clean, "eu")
    assert "no deviation is recorded" in form
    assert "<form" not in form


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_stays_text(text):
    said = published(hostile_unit(small_class(), text))
    form = render_form(said, "eu", buyer='"><script>1')
    assert [box.get("value") for box in inputs(form, "checkbox")] == [str(line.number) for line in said.deviations]
    assert "<script" not in form
    assert "<img" not in form


def test_every_field_of_the_form_is_used_and_explained():
    engine = environment("html")
    source = engine.loader.get_source(engine, DEVIATIONS)[0]
    assert meta.find_undeclared_variables(engine.parse(source)) == {field.name for field in fields(FormContext)}
    assert all(f"box.{field.name}" in source for field in fields(BoxContext))
    assert all(len(field.metadata["help"]) > 10 for kind in (FormContext, BoxContext) for field in fields(kind))
