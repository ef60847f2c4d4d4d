"""The listing as a page: an HTML5 parser finds no error, axe-core no barrier, and hostile text does nothing."""

from __future__ import annotations

from base64 import b64encode
from datetime import date

import html5lib
import pytest

from data.catalogue.reader import class_names, find_class
from data.importing.picture import read_picture
from listing_templates.illustrations import Illustration
from listing_templates.language import language_tags
from listing_templates.render import render_listing
from listing_templates.shots import shots_of
from tests.browser.conftest import Watched
from tests.browser.pages import barriers, parsed
from tests.builders import small_class
from tests.counts import count
from tests.hostile import HOSTILE, hostile_unit
from tests.pictures import jpeg
from tests.random_units import random_unit

ON = date(2026, 5, 1)


def page_of(unit, device_class, language="en"):
    return render_listing(unit, device_class, format="html", on=ON, language=language).body


def test_the_strict_parser_and_axe_do_find_faults(watched):
    with pytest.raises(html5lib.html5parser.ParseError):
        parsed("<!DOCTYPE html><title>x</title><ul><li>one</b></ul>")
    watched.show('<!DOCTYPE html><html><title>x</title><main><h1>a</h1><p style="color:#ccc">pale</p></main></html>')
    assert {rule for rule, _ in barriers(watched)} == {"color-contrast", "html-has-lang"}


def test_every_page_is_free_of_errors_for_the_parser():
    names = class_names()
    for seed in range(count(400)):
        device_class = find_class(names[seed % len(names)])
        language = language_tags()[seed % len(language_tags())]
        parsed(page_of(random_unit(device_class, seed), device_class, language))


@pytest.mark.parametrize("language", language_tags())
@pytest.mark.parametrize("name", ["phone", "lens"])
def test_a_page_holds_under_axe(watched: Watched, name, language):
    device_class = find_class(name)
    watched.show(page_of(random_unit(device_class, 7), device_class, language))
    assert barriers(watched) == []
    assert watched.asked == []


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_runs_nothing_asks_for_nothing_and_keeps_the_page_whole(watched: Watched, text):
    body = page_of(hostile_unit(small_class(), text), small_class())
    parsed(body)
    page = watched.show(body)
    page.wait_for_timeout(50)
    assert (watched.dialogs, watched.asked, watched.errors) == ([], [], [])
    assert page.locator("h1").count() == 1
    assert page.locator("script, img, svg, base, a, iframe, meta[http-equiv]").count() == 0
    assert page.locator("li").count() == body.count("<li ")
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_a_page_reads_well_on_a_small_screen(watched: Watched):
    device_class = find_class("phone")
    watched.page.set_viewport_size({"width": 320, "height": 640})
    page = watched.show(page_of(random_unit(device_class, 3), device_class))
    assert page.evaluate("document.documentElement.scrollWidth") <= 320


def test_a_page_with_photos_holds_too(watched: Watched):
    device_class = find_class("phone")
    unit = random_unit(device_class, 3)
    source = "data:image/jpeg;base64," + b64encode(read_picture(jpeg(width=900), "a").small).decode()
    photos = [Illustration(shot.id, shot.facts, source) for shot in shots_of(unit, device_class)]
    body = render_listing(unit, device_class, format="html", on=ON, illustrations=photos).body
    parsed(body)
    watched.page.set_viewport_size({"width": 320, "height": 640})
    page = watched.show(body)
    assert barriers(watched) == []
    assert (watched.asked, watched.errors) == ([], [])
    assert page.locator("li img").count() == body.count("<img ") > 5
    assert page.evaluate("[...document.images].every(each => each.naturalWidth == 480 && each.alt)")
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
