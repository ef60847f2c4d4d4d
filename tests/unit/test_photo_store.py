"""The store keeps each picture once, adds to the history of photos, and lets go of what nobody needs."""

from __future__ import annotations

import sqlite3
from datetime import UTC, date, datetime
from hashlib import sha256

import pytest
from sqlalchemy.exc import IntegrityError

from data.storage.store import open_store
from pricing.errors import NotFound
from pricing.records.photo import PhotoAdded, PhotoRemoved
from pricing.records.unit import Unit

NOW = datetime(2026, 6, 10, 9, 0, tzinfo=UTC)
ON = date(2026, 6, 10)
STATE = "0" * 64


@pytest.fixture
def store(tmp_path):
    made = open_store(f"sqlite:///{tmp_path}/shop.sqlite")
    with made.writing(NOW) as work:
        for number in ("U1", "U2"):
            work.units.add(Unit.model_validate({"class": "lens", "number": number}))
    yield made
    made.close()


def named(content):
    return sha256(content).hexdigest()


def add(store, number, content, shot="whole"):
    told = {"digest": named(content), "shot": shot, "facts": ("class",), "state_digest": STATE, "on": ON}
    with store.writing(NOW) as work:
        return work.photos.add(number, PhotoAdded(**told, width=4, height=3), content, b"small " + content)


def remove(store, number, content):
    with store.writing(NOW) as work:
        return work.photos.remove(number, PhotoRemoved(digest=named(content), on=ON))


def test_a_picture_is_kept_once_and_found_by_its_digest(store):
    add(store, "U1", b"one")
    add(store, "U1", b"one", "surface:barrel")
    add(store, "U2", b"one")
    with store.reading() as work:
        assert work.photos.content("U1", named(b"one")) == b"one"
        assert work.photos.content("U2", named(b"one"), small=True) == b"small one"
        assert work.photos.small([named(b"one"), "f" * 64]) == {named(b"one"): b"small one"}
        assert [photo.shot for photo in work.photos.attached("U1")] == ["whole", "surface:barrel"]
        assert all(step.intact for step in work.photos.steps("U1"))


def test_what_is_removed_stays_while_another_unit_has_it_and_then_goes(store):
    add(store, "U1", b"one")
    add(store, "U2", b"one")
    remove(store, "U1", b"one")
    with store.reading() as work:
        assert work.photos.attached("U1") == ()
        assert work.photos.content("U1", named(b"one")) == b"one"
    remove(store, "U2", b"one")
    with store.reading() as work:
        assert [step.step.did for step in work.photos.steps("U2")] == ["added", "removed"]
        with pytest.raises(NotFound, match="no photo"):
            work.photos.content("U2", named(b"one"))
    assert add(store, "U2", b"one").intact
    with store.reading() as work:
        assert work.photos.content("U2", named(b"one")) == b"one"


def test_what_goes_leaves_nothing_in_the_file(store, tmp_path):
    content = b"a face that was seen by mistake " * 200
    add(store, "U1", content)
    remove(store, "U1", content)
    store.close()
    assert not any(b"a face" in path.read_bytes() for path in tmp_path.glob("shop.sqlite*"))


def test_a_photo_of_another_unit_is_not_given(store):
    add(store, "U1", b"one")
    with store.reading() as work, pytest.raises(NotFound, match="of unit U2"):
        work.photos.content("U2", named(b"one"))


@pytest.mark.parametrize("act", [add, remove])
def test_a_unit_that_is_not_there_is_told(store, act):
    with pytest.raises(NotFound, match="no unit"):
        act(store, "U9", b"one")


def test_what_was_not_attached_cannot_be_removed(store):
    with pytest.raises(NotFound, match="is attached to unit U1"):
        remove(store, "U1", b"one")
    add(store, "U1", b"one")
    remove(store, "U1", b"one")
    with pytest.raises(NotFound, match="is attached to unit U1"):
        remove(store, "U1", b"one")


def test_the_history_cannot_be_changed_and_shows_what_another_program_did(store, tmp_path):
    add(store, "U1", b"one")
    add(store, "U1", b"two")
    with sqlite3.connect(tmp_path / "shop.sqlite") as file:
        for change in ("UPDATE photo_steps SET at = ''", "DELETE FROM photo_steps", "UPDATE pictures SET at = ''"):
            with pytest.raises((sqlite3.IntegrityError, IntegrityError), match="never changed"):
                file.execute(change)
        file.execute("DROP TRIGGER photo_steps_no_update")
        file.execute("UPDATE photo_steps SET step_json = replace(step_json, 'whole', 'frame') WHERE id = 1")
    file.close()
    with store.reading() as work:
        assert [step.intact for step in work.photos.steps("U1")] == [False, False]
