"""Photos in a shop: what is missing, what is shown, what a listing that shows them proves."""

from __future__ import annotations

import re
from base64 import b64decode
from hashlib import sha256
from io import BytesIO

import pytest
from PIL import Image

from api.shop.kept_listings import edit_text, get_kept
from api.shop.listing_checks import check_listing, last_check, read_back
from api.shop.listings import keep_listing, write_listing
from api.shop.photos import (
    add_photo,
    add_photo_file,
    illustrations_of,
    photo_content,
    remove_photo,
    shot_list,
    shots_for,
    write_photos,
)
from api.shop.publications import feed_of, publish
from api.shop.terms import terms_of_shop
from api.shop.units import get_unit
from pricing.errors import BadInput, NotFound
from pricing.records.channel import Channel
from tests.kept_listings import NOW, change, draft, shop_in, with_answers
from tests.pictures import SECRET, jpeg

DENT = {"surface": "barrel", "kind": "dent", "size_mm": 3}
FOLDER = "https://example.org/photos/"


@pytest.fixture
def shop(tmp_path):
    made = shop_in(tmp_path, country="de")
    change(made, marks=[DENT], looked_at=["front_element", "rear_element"], accessories=["hood"])
    yield made
    made.close()


@pytest.fixture
def shown(tmp_path):
    """A shop that asks for photos and has a place for them on the net."""
    (tmp_path / "net").mkdir()
    made = shop_in(tmp_path / "net", country="de", photos=True, photo_address=FOLDER)
    change(made, marks=[DENT], looked_at=["front_element", "rear_element"])
    yield made
    made.close()


def take_all(shop):
    colours = ("red", "green", "blue", "black", "white", "grey", "navy", "teal")
    for colour, shot in zip(colours, shot_list(shop, "U1").missing, strict=False):
        add_photo(shop, "U1", jpeg(colour), shot.id)


def missing(shop, number):
    return [
        raised.finding.fact
        for raised in last_check(check_listing(shop, number)).findings
        if raised.finding.kind == "photo missing"
    ]


def with_photos(shop, form="html", channel=None):
    unit = get_unit(shop, "U1").unit
    listing = write_listing(
        unit,
        shop.class_called("lens"),
        form=form,
        on=NOW.date(),
        terms=terms_of_shop(shop.settings),
        channel=channel,
        illustrations=illustrations_of(shop, "U1"),
    )
    return keep_listing(shop, unit, listing).number


def test_a_shop_without_photos_is_not_asked_for_any(shop):
    assert shot_list(shop, "U1").missing
    assert missing(shop, draft(shop)) == []


def test_one_photo_asks_for_the_others_and_a_setting_asks_for_all(shop, shown):
    number = draft(shop)
    add_photo(shop, "U1", jpeg(), "whole")
    facts = missing(shop, number)
    assert {"mark:barrel:dent", "surface:barrel", "surface:front_element", "accessory:hood"} <= set(facts)
    assert "class" not in facts
    assert "class" in missing(shown, draft(shown))
    take_all(shop)
    assert missing(shop, number) == []


def test_a_missing_photo_may_be_answered_and_the_answer_ends_with_the_fact(shown):
    number = draft(shown)
    kept = with_answers(shown, number)
    assert kept.state == "checked"
    raised = [each for each in last_check(kept).findings if each.finding.kind == "photo missing"]
    assert all(each.answer for each in raised)
    change(shown, marks=[{**DENT, "size_mm": 9}])
    still_open = {
        each.finding.fact for each in last_check(check_listing(shown, number)).findings if each.stands_open
    }
    assert "mark:barrel:dent" in still_open
    assert "surface:front_element" not in still_open


def test_a_photo_from_before_a_change_is_outdated_and_shown_nowhere(shop):
    take_all(shop)
    assert shot_list(shop, "U1").missing == ()
    change(shop, marks=[{**DENT, "size_mm": 9}])
    told = shot_list(shop, "U1")
    assert [shot.id for shot in told.missing] == ["surface:barrel", "mark:barrel:dent"]
    assert {each.photo.shot for each in told.photos if each.outdated} == {"surface:barrel", "mark:barrel:dent"}
    assert {"surface:barrel", "mark:barrel:dent"}.isdisjoint(photo.shot for photo in told.current)
    assert "mark:barrel:dent" not in {fact for each in illustrations_of(shop, "U1") for fact in each.facts}


def test_a_page_shows_each_photo_beside_its_disclosure(shop):
    take_all(shop)
    body = get_kept(shop, with_photos(shop)).text
    (line,) = (line for line in body.splitlines() if line.startswith("<li") and "Lens barrel: one dent" in line)
    shown_there = re.findall(r'<img src="data:image/jpeg;base64,([^"]+)" alt="([^"]*)">', line)
    assert [alt for _, alt in shown_there] == ["lens barrel", "lens barrel"]
    for encoded, _ in shown_there:
        image = Image.open(BytesIO(b64decode(encoded)))
        assert (image.format, not image.getexif()) == ("JPEG", True)
    assert len(re.findall("<img ", body)) == len(shot_list(shop, "U1").current)
    assert SECRET not in body


def test_a_page_with_photos_is_read_published_and_read_back_like_any_other(shop):
    take_all(shop)
    number = with_photos(shop)
    kept = with_answers(shop, number)
    assert kept.state == "checked"
    done = publish(shop, number, confirmed_by="desk", text_digest=kept.text_digest).publication
    assert done.photos == tuple(photo.digest for photo in shot_list(shop, "U1").current)
    assert done.listing.photos == get_kept(shop, number).written.said.photos
    assert read_back(shop, number, kept.text).same == "the same"
    bare = re.sub("<img [^>]*>", "", kept.text)
    assert read_back(shop, number, bare).same == "the same as seen"


@pytest.mark.parametrize("form", ["text", "markdown"])
def test_no_picture_stands_in_a_text(shop, form):
    take_all(shop)
    kept = get_kept(shop, with_photos(shop, form))
    assert "data:image" not in kept.text
    assert kept.written.said.photos == ()


def test_a_channel_that_counts_characters_gets_no_picture_in_the_page(shop):
    take_all(shop)
    channel = Channel.model_validate(
        {"name": "stall", "title": "Stall", "currency": "EUR", "body_limit": 60_000, "formats": ["html"]}
    )
    unit = get_unit(shop, "U1").unit
    listing = write_listing(
        unit, shop.class_called("lens"), form="html", on=NOW.date(), channel=channel,
        illustrations=illustrations_of(shop, "U1"),
    )  # fmt: skip
    assert "<img" not in listing.body
    assert listing.photos == ()


def test_linked_data_and_feed_name_pictures_only_where_they_lie_on_the_net(shop, shown):
    for each, folder in ((shop, None), (shown, FOLDER)):
        take_all(each)
        number = with_photos(each, "json-ld")
        kept = with_answers(each, number)
        digests = [photo.digest for photo in shot_list(each, "U1").current]
        publish(each, number, confirmed_by="desk", text_digest=kept.text_digest)
        feed = feed_of(each, "ndjson")
        for digest in digests:
            address = f"{folder}{digest}.jpg"
            assert (address in kept.text, address in feed) == (folder is not None, folder is not None)
        assert ('"image"' in kept.text) == (folder is not None)


def test_a_text_that_shows_what_was_removed_or_has_changed_is_stopped(shop):
    take_all(shop)
    number = with_photos(shop)
    assert with_answers(shop, number).state == "checked"
    (gone,) = (photo.digest for photo in shot_list(shop, "U1").current if photo.shot == "whole")
    remove_photo(shop, "U1", gone)
    (stop,) = last_check(check_listing(shop, number)).stops
    assert "1 photo that the unit no longer has" in stop
    edit_text(shop, number, re.sub("<img [^>]*>", "", get_kept(shop, number).text))
    assert last_check(check_listing(shop, number)).stops == ()


def test_what_was_published_stays_when_it_is_taken_off_and_what_was_not_goes(shop):
    take_all(shop)
    number = draft(shop)
    publish(shop, number, confirmed_by="desk", text_digest=with_answers(shop, number).text_digest)
    (photo, *_) = shot_list(shop, "U1").current
    assert remove_photo(shop, "U1", photo.digest[:8].upper()) == photo.digest
    assert sha256(photo_content(shop, "U1", photo.digest)).hexdigest() == photo.digest
    later = add_photo(shop, "U1", jpeg("pink"), "whole").photo
    remove_photo(shop, "U1", later.digest)
    with pytest.raises(NotFound, match="no photo"):
        photo_content(shop, "U1", later.digest)


def test_the_same_picture_twice_is_told(shop):
    assert add_photo(shop, "U1", jpeg(), "whole").notices == ()
    assert "already" in add_photo(shop, "U1", jpeg(), "whole").notices[0]
    assert "stands for both" in add_photo(shop, "U1", jpeg(), "surface:barrel").notices[0]
    assert len(shot_list(shop, "U1").photos) == 2


def test_photos_are_written_under_their_digests(shop, tmp_path):
    take_all(shop)
    (tmp_path / "out").mkdir()
    paths = write_photos(shop, "U1", tmp_path / "out")
    assert sorted(path.name for path in paths) == sorted(path.name for path in (tmp_path / "out").iterdir())
    assert all(sha256(path.read_bytes()).hexdigest() + ".jpg" == path.name for path in paths)
    with pytest.raises(BadInput, match="a place that can be written"):
        write_photos(shop, "U1", tmp_path / "nowhere")


@pytest.mark.parametrize(
    ("act", "error", "words"),
    [
        (lambda shop: add_photo(shop, "U1", jpeg(), "sideways"), BadInput, "whole, surface:front_element, surf"),
        (lambda shop: add_photo(shop, "U1", b"%PDF-1.7", "whole", source="a.jpg"), BadInput, "a.jpg: found no picture"),
        (lambda shop: add_photo(shop, "U9", jpeg(), "whole"), NotFound, "no unit"),
        (lambda shop: add_photo_file(shop, "U1", shop.settings.home / "none.jpg", "whole"), NotFound, "no file"),
        (lambda shop: add_photo_file(shop, "U1", shop.settings.home, "whole"), BadInput, "a file that can be read"),
        (lambda shop: remove_photo(shop, "U1", "0" * 64), NotFound, "no photo"),
        (lambda shop: remove_photo(shop, "U1", ""), NotFound, "no photo"),
        (lambda shop: photo_content(shop, "U1", "0" * 64), NotFound, "no photo"),
        (lambda shop: shot_list(shop, "U9"), NotFound, "no unit"),
        (lambda shop: illustrations_of(shop, "U9"), NotFound, "no unit"),
    ],
)
def test_what_cannot_be_is_told_in_words(shop, act, error, words):
    with pytest.raises(error, match=re.escape(words)):
        act(shop)


def test_a_file_that_is_too_large_is_not_read(shop, tmp_path, monkeypatch):
    monkeypatch.setattr("api.shop.photos.LARGEST_FILE", 10)
    (tmp_path / "large.jpg").write_bytes(jpeg())
    with pytest.raises(BadInput, match="expected at most 10 bytes"):
        add_photo_file(shop, "U1", tmp_path / "large.jpg", "whole")


def test_a_unit_that_is_in_no_store_has_its_shots(shop):
    told = shots_for(get_unit(shop, "U1").unit, shop.class_called("lens"))
    assert (told.unit_number, told.photos) == (None, ())
    assert told.shots == shot_list(shop, "U1").shots
