"""The sheet for a sale in person: every disclosure a line of its own, none ticked, each with the rule it serves."""

from __future__ import annotations

from dataclasses import fields
from datetime import date
from html import unescape

import html5lib
import pytest
from jinja2 import meta

from listing_templates.language import language_tags
from listing_templates.render import SHEET, environment, render_listing
from listing_templates.sheet import LineContext, SheetContext, render_sheet
from listing_templates.sheet_rules import rules_of
from pricing.errors import NotFound
from pricing.records.listing import Sentence
from tests.builders import healthy, small_class, spotless
from tests.hostile import HOSTILE, hostile_unit

XHTML = "{http://www.w3.org/1999/xhtml}"
FAULTY = {"functions": healthy(wifi="dead"), "parts": [{"part": "cell", "origin": "salvaged"}], "opened": "by others"}


def listing(language="en", **changes):
    unit = spotless(**{"number": "U7", "ask": {"amount": "80", "currency": "EUR"}, **FAULTY, **changes})
    return render_listing(unit, small_class(), format="text", on=date(2026, 3, 5), language=language)


def rows(sheet):
    """Return text, rule and box of each line."""
    page = html5lib.HTMLParser(strict=True).parse(sheet)
    for row in page.iter(f"{XHTML}tr"):
        cells = list(row.iter(f"{XHTML}td"))
        if cells:
            yield cells[1].text, cells[2].text, cells[3].find(f"{XHTML}input")


@pytest.mark.parametrize("language", language_tags())
def test_every_disclosure_is_a_line_of_its_own_and_none_is_ticked(language):
    said = listing(language)
    lines = list(rows(render_sheet(said)))
    assert [text for text, _, _ in lines] == [sentence.text for sentence in said.sentences if sentence.disclosure]
    assert len(lines) >= 3
    for number, (_, rule, box) in enumerate(lines, start=1):
        assert rule.startswith("Art. 7")
        assert box.get("type") == "checkbox"
        assert box.get("checked") is None
        assert str(number) in box.get("aria-label")


def test_the_sheet_names_unit_price_day_digest_and_law():
    said = listing()
    sheet = unescape(render_sheet(said, digest="ab12"))
    total = f"{sum(sentence.disclosure for sentence in said.sentences)} lines in all"
    for words in ("Arvel N2", "U7", "€80.00", "5 March 2026", "ab12", "Directive (EU) 2019/771, Art. 7(5)", total):
        assert words in sheet
    assert sheet.count('class="place"') == 2


@pytest.mark.parametrize(
    ("country", "law", "rule"),
    [
        ("eu", "Richtlinie (EU) 2019/771", "Art. 7(1)(a), (d)"),
        ("DE", "BGB", "§ 434 Abs. 3"),
        ("fr", "Code de la consommation", "art. L. 217-5"),
        ("es", "TRLGDCU", "art. 115 ter"),
        ("gb", "Consumer Rights Act 2015", "s. 9(3)(a)"),
    ],
)
def test_the_country_decides_which_rule_a_line_serves(country, law, rule):
    sheet = render_sheet(listing("de"), country=country)
    assert law in sheet
    assert rule in {found.removesuffix(", I") for _, found, _ in rows(sheet)}


def test_rules_have_a_day_a_source_and_an_answer_for_every_line():
    unknown = Sentence(id="weather.rain", section="look", text="Rain.", facts=("rain",), disclosure=True)
    for country in ("eu", "de", "fr", "es", "gb"):
        rules = rules_of(country)
        assert rules.rule_of(unknown)
        assert set(rules.law) == set(language_tags())
        assert len(rules.source) > 20
        assert date(2010, 1, 1) < rules.since < date(2026, 1, 1)
    with pytest.raises(NotFound, match='country "xx"; there are: eu, de'):
        rules_of("xx")


def test_a_unit_without_deviations_has_a_sheet_that_says_so():
    clean = render_sheet(listing(functions=healthy(), parts=[], opened="no sign"))
    assert "no deviation is recorded" in clean
    assert list(rows(clean)) == []


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_stays_text(text):
    unit = hostile_unit(small_class(), text)
    sheet = render_sheet(render_listing(unit, small_class(), format="text"), digest=text)
    disclosures = [s for s in render_listing(unit, small_class(), format="text").sentences if s.disclosure]
    assert [found for found, _, _ in rows(sheet)] == [sentence.text for sentence in disclosures]
    assert "<script" not in sheet
    assert "<img" not in sheet


def test_every_field_of_the_sheet_is_used_and_explained():
    engine = environment("html")
    source = engine.loader.get_source(engine, SHEET)[0]
    assert meta.find_undeclared_variables(engine.parse(source)) == {field.name for field in fields(SheetContext)}
    assert all(f"line.{field.name}" in source for field in fields(LineContext))
    assert all(len(field.metadata["help"]) > 10 for kind in (SheetContext, LineContext) for field in fields(kind))
