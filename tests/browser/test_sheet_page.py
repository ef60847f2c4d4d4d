"""The sheet for a sale in person, as Chromium prints it on A4."""

from __future__ import annotations

import re
from datetime import date

import pytest

from data.catalogue.reader import find_class
from listing_templates.language import language_tags
from listing_templates.render import render_listing
from listing_templates.sheet import render_sheet
from tests.browser.conftest import Watched
from tests.browser.pages import barriers, parsed
from tests.builders import small_class, spotless
from tests.hostile import HOSTILE, hostile_unit
from tests.random_units import random_unit

A4_POINTS = (595, 842)


def sheet_of(unit, device_class, language="en"):
    listing = render_listing(unit, device_class, format="html", on=date(2026, 5, 1), language=language)
    return listing, render_sheet(listing, digest="9f" * 32)


def pages_of(printed):
    """Return width and height in points of each page of a PDF."""
    boxes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", printed)
    return [(round(float(width)), round(float(height))) for width, height in boxes]


@pytest.mark.parametrize("language", language_tags())
def test_the_sheet_prints_on_a4_and_holds_under_axe(watched: Watched, language):
    device_class = find_class("phone")
    listing, sheet = sheet_of(random_unit(device_class, 11), device_class, language)
    parsed(sheet)
    page = watched.show(sheet)
    assert barriers(watched) == []
    sizes = pages_of(page.pdf(prefer_css_page_size=True))
    assert set(sizes) == {A4_POINTS}
    assert 2 <= len(sizes) <= 6
    boxes = page.get_by_role("checkbox")
    assert boxes.count() == sum(sentence.disclosure for sentence in listing.sentences)
    assert not any(box.is_checked() for box in boxes.all())
    assert watched.asked == []


def test_a_unit_with_nothing_to_disclose_has_one_page(watched: Watched):
    _, sheet = sheet_of(spotless(), small_class())
    page = watched.show(sheet)
    assert barriers(watched) == []
    assert pages_of(page.pdf(prefer_css_page_size=True)) == [A4_POINTS]


@pytest.mark.parametrize("language", language_tags())
def test_no_word_of_the_table_is_broken_or_runs_over_its_cell(watched: Watched, language):
    _, sheet = sheet_of(random_unit(find_class("phone"), 11), find_class("phone"), language)
    watched.page.set_viewport_size({"width": 680, "height": 960})
    page = watched.show(sheet)
    page.emulate_media(media="print")
    wide = page.eval_on_selector_all("th", "cells => cells.filter(c => c.scrollWidth > c.clientWidth + 1).length")
    assert wide == 0
    heights = page.eval_on_selector_all("th:not(.which)", "cells => cells.map(c => c.clientHeight)")
    assert max(heights) < 40


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_runs_nothing_on_the_sheet(watched: Watched, text):
    _, sheet = sheet_of(hostile_unit(small_class(), text), small_class())
    parsed(sheet)
    page = watched.show(sheet)
    page.wait_for_timeout(50)
    assert (watched.dialogs, watched.asked, watched.errors) == ([], [], [])
    assert page.locator("script, img, svg, base, a, iframe, meta[http-equiv]").count() == 0
    assert page.locator("h1").count() == page.locator("table").count() == 1
