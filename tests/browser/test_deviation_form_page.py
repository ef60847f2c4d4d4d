"""The form on which a buyer accepts each deviation, in Chromium without script."""

from __future__ import annotations

from datetime import date
from urllib.parse import parse_qs

import pytest

from listing_templates.deviations import deviations_of, render_form
from listing_templates.render import render_listing
from pricing.records.publication import Publication
from tests.browser.conftest import Watched
from tests.browser.pages import barriers, parsed
from tests.builders import healthy, small_class, spotless
from tests.hostile import HOSTILE, hostile_unit

FAULTY = spotless(functions=healthy(wifi="dead"), opened="by others", parts=[{"part": "cell", "origin": "salvaged"}])


def published(unit=FAULTY):
    listing = render_listing(unit, small_class(), format="text", on=date(2026, 3, 5))
    lines = deviations_of(listing.sentences, "de")
    return Publication(
        listing=listing, text_digest="9f" * 32, unit=spotless(), unit_version=1, facts=(), deviations=lines,
        confirmed_by="desk", program="1",
    )  # fmt: skip


@pytest.mark.parametrize("accepted", [None, [2], "all"])
@pytest.mark.parametrize("buyer", ["", "B-1"])
def test_the_form_holds_under_axe_and_ticks_nothing(watched: Watched, accepted, buyer):
    said = published()
    numbers = [line.number for line in said.deviations] if accepted == "all" else accepted
    form = render_form(said, "de", buyer=buyer, accepted=numbers)
    parsed(form)
    page = watched.show(form)
    assert barriers(watched) == []
    boxes = page.get_by_role("checkbox")
    assert boxes.count() == (0 if accepted == "all" else len(said.deviations))
    assert not any(box.is_checked() for box in boxes.all())
    assert watched.asked == []


def test_it_is_sent_only_when_every_line_and_the_order_are_given_and_without_script(browser):
    context = browser.new_context(java_script_enabled=False)
    sent = []

    def take(route):
        if route.request.method == "POST":
            sent.append(parse_qs(route.request.post_data))
            route.fulfill(body="<!DOCTYPE html><title>kept</title>", content_type="text/html")
        else:
            route.fulfill(body=render_form(published(), "de"), content_type="text/html")

    context.route("**/*", take)
    page = context.new_page()
    page.goto("http://shop.example/listings/5/deviations/form")
    boxes = page.get_by_role("checkbox").all()
    page.get_by_label("Number of your order").fill("B-1")
    for box in boxes[1:]:
        box.check()
    page.get_by_role("button").click()
    assert sent == []
    boxes[0].check()
    page.get_by_role("button").click()
    page.wait_for_url("http://shop.example/listings/5/deviations/form")
    numbers = [str(line.number) for line in published().deviations]
    assert sent == [{"text_digest": ["9f" * 32], "buyer": ["B-1"], "line": numbers}]
    context.close()


def test_each_line_is_reached_and_ticked_by_the_keyboard(watched: Watched):
    page = watched.show(render_form(published(), "de", buyer="B-1"))
    boxes = page.get_by_role("checkbox").all()
    for box in boxes:
        page.keyboard.press("Tab")
        page.keyboard.press("Space")
        assert box.is_checked()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.type") == "submit"


def test_it_fits_a_narrow_screen(watched: Watched):
    watched.page.set_viewport_size({"width": 320, "height": 640})
    page = watched.show(render_form(published(), "de"))
    assert page.evaluate("document.documentElement.scrollWidth") <= 320


@pytest.mark.parametrize("text", HOSTILE[:11], ids=range(11))
def test_hostile_text_runs_nothing(watched: Watched, text):
    page = watched.show(render_form(published(hostile_unit(small_class(), text)), "eu", buyer="B-1"))
    assert page.get_by_role("checkbox").count() > 3
    assert (watched.dialogs, watched.errors, watched.asked) == ([], [], [])
