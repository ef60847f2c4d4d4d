"""Each photo stands once, beside the sentence that discloses what it proves."""

from __future__ import annotations

from listing_templates.illustrations import Illustration, placed
from listing_templates.render import render_listing
from tests.builders import small_class, spotless
from tests.hostile import HOSTILE, hostile_unit

SOURCE = "data:image/jpeg;base64,AAAA"
MARKS = [{"surface": "screen", "kind": "scratch", "size_mm": 4}, {"surface": "back_panel", "kind": "dent"}]


def photo(*facts, digest="a"):
    return Illustration(digest=digest * 64, facts=facts, source=SOURCE)


def beside(illustrations, **fields):
    sentences = render_listing(spotless(**fields), small_class(), format="text").sentences
    return {sentences[place].id: found for place, found in placed(sentences, illustrations).items()}


def test_a_disclosure_comes_before_a_sentence_that_only_rests_on_the_fact():
    near, side = photo("mark:screen:scratch"), photo("surface:screen", "mark:screen:scratch", digest="b")
    assert beside([near, side], marks=MARKS[:1]) == {"mark.seen": (near, side)}


def test_a_clean_side_stands_beside_the_sentence_on_the_look():
    assert set(beside([photo("surface:screen")])) == {"look.grade"}


def test_the_whole_unit_stands_at_the_top():
    sentences = render_listing(spotless(marks=MARKS), small_class(), format="text").sentences
    assert sentences[0].section == "title"
    assert list(placed(sentences, [photo("class")])) == [1]
    assert placed(sentences[:1], [photo("class")]) == {}


def test_a_photo_that_no_sentence_is_about_is_left_out():
    assert beside([photo("nothing:here")]) == {}
    assert beside([]) == {}


def test_labels_of_hostile_units_stay_text_in_the_page():
    for text in HOSTILE:
        unit = hostile_unit(small_class(), text)
        facts = [f"mark:{mark.surface}:{mark.kind}" for mark in unit.marks]
        page = render_listing(unit, small_class(), format="html", illustrations=[photo(*facts)]).body
        bare = render_listing(unit, small_class(), format="html").body
        assert page.count("<img ") - bare.count("<img ") <= 1
        assert page.count("<script") == bare.count("<script")


def test_a_page_without_photos_has_no_picture():
    assert "<img" not in render_listing(spotless(marks=MARKS), small_class(), format="html").body
