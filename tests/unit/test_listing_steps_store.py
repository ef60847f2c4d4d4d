"""The store keeps what happened to listings and what buyers accepted; nobody changes it unseen."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime

import pytest

from data.storage.store import open_store
from pricing.errors import NotFound, StaleVersion
from pricing.records.acceptance import Acceptance
from pricing.records.listing import Listing
from pricing.records.listing_step import Checked, Edited, Sold, Withdrawn
from pricing.records.unit import Unit

NOW = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
DIGEST = "a" * 64
EDITED, CHECKED = Edited(text="other words"), Checked(text_digest=DIGEST, unit_version=1)
GONE = Withdrawn(reason="broken in the shop", by="desk")


@pytest.fixture
def store(tmp_path):
    opened = open_store(f"sqlite:///{tmp_path}/shop.sqlite")
    with opened.writing(NOW) as work:
        for number in ("17", "18", "17"):
            said = {"unit_number": number, "language": "en", "format": "text", "on": None, "title": ""}
            listing = Listing.model_validate({**said, "sentences": (), "body": "x"})
            work.listings.add(Unit.model_validate({"class": "lamp", "number": number}), listing)
    yield opened
    opened.close()


def add(store, number, *steps):
    for step in steps:
        with store.writing(NOW) as work:
            work.listing_steps.add(number, step, work.listing_steps.steps(number))


def answer(buyer="B-1", accepted=True):
    lines = [{"number": 1, "text": "Dead.", "accepted": accepted}]
    return Acceptance.model_validate({"buyer": buyer, "way": "checkout", "text_digest": DIGEST, "lines": lines})


def behind_the_back(tmp_path, change):
    """Change the file as somebody would who first takes the guards away."""
    file = sqlite3.connect(tmp_path / "shop.sqlite")
    for table in ("listing_steps", "acceptances", "listings"):
        file.execute(f"DROP TRIGGER {table}_no_update")
    file.execute(change)
    file.commit()
    file.close()


def test_steps_come_back_in_order_with_the_state_after_each(store):
    add(store, 2, EDITED, CHECKED, GONE)
    with store.reading() as work:
        kept = work.listing_steps.steps(2)
        assert work.listing_steps.steps(1) == ()
    assert [stored.step for stored in kept] == [EDITED, CHECKED, GONE]
    assert [stored.state for stored in kept] == ["draft", "checked", "withdrawn"]
    assert all(stored.intact for stored in kept)
    assert len({stored.digest for stored in kept}) == 3


def test_a_step_is_refused_when_another_came_between(store):
    add(store, 1, EDITED)

    def add_blindly():
        with store.writing(NOW) as work:
            work.listing_steps.add(1, CHECKED, ())

    with pytest.raises(StaleVersion, match="listing 1 went on meanwhile"):
        add_blindly()
    with pytest.raises(NotFound, match="no listing 9"):
        add(store, 9, EDITED)


@pytest.mark.parametrize(
    ("change", "intact"),
    [
        ("UPDATE listing_steps SET step_json = replace(step_json, 'other', 'kinder') WHERE id = 1", [False, False]),
        ("UPDATE listing_steps SET at = '2025-01-01T00:00:00+00:00' WHERE id = 2", [True, False]),
        ("UPDATE listings SET digest = 'f'", [False, False]),
        ("UPDATE listings SET said_json = said_json", [True, True]),
    ],
)
def test_what_was_changed_behind_the_back_is_seen_from_there_on(store, tmp_path, change, intact):
    add(store, 1, EDITED, CHECKED)
    behind_the_back(tmp_path, change)
    with store.reading() as work:
        assert [stored.intact for stored in work.listing_steps.steps(1)] == intact


@pytest.mark.parametrize("table", ["listings", "listing_steps", "acceptances"])
@pytest.mark.parametrize("change", ["UPDATE {} SET digest = ''", "DELETE FROM {}"])
def test_the_database_refuses_to_change_what_was_kept(store, tmp_path, table, change):
    add(store, 1, EDITED)
    with store.writing(NOW) as work:
        work.acceptances.add(1, answer())
    file = sqlite3.connect(tmp_path / "shop.sqlite")
    with pytest.raises(sqlite3.IntegrityError, match="never changed"):
        file.execute(change.format(table))
    file.close()


def test_listings_are_found_by_state_and_unit_the_latest_first(store):
    add(store, 1, CHECKED, GONE)
    add(store, 3, CHECKED)
    with store.reading() as work:

        def found(state, **more):
            return work.listing_steps.listings_in(state, **{"limit": 0, "offset": 0, **more}).items

        assert found(None) == (3, 2, 1)
        assert (found("draft"), found("checked"), found("withdrawn"), found("sold")) == ((2,), (3,), (1,), ())
        assert found(None, unit_number="17") == (3, 1)
        assert found("checked", unit_number="18") == ()
        page = work.listing_steps.listings_in(None, limit=1, offset=1)
    assert (page.items, page.total, page.offset) == ((2,), 3, 1)


def test_only_a_complete_answer_of_the_buyer_counts_as_accepted(store):
    with store.writing(NOW) as work:
        kept = [work.acceptances.add(1, answer(accepted=False)), work.acceptances.add(1, answer("B-2"))]
        assert not work.acceptances.accepted(1, "B-1")
        assert work.acceptances.accepted(1, "B-2")
        assert not work.acceptances.accepted(2, "B-2")
        kept.append(work.acceptances.add(1, answer()))
        assert work.acceptances.accepted(1, "B-1")
    with store.reading() as work:
        page = work.acceptances.page(1, limit=0, offset=0)
        assert (page.items, page.total) == (tuple(reversed(kept)), 3)
        assert work.acceptances.page(1, buyer="B-1", limit=1, offset=1).items == (kept[0],)


def test_a_changed_answer_is_seen(store, tmp_path):
    with store.writing(NOW) as work:
        work.acceptances.add(1, answer(accepted=False))
    behind_the_back(tmp_path, "UPDATE acceptances SET acceptance_json = replace(acceptance_json, 'false', 'true')")
    with store.reading() as work:
        (kept,) = work.acceptances.page(1, limit=0, offset=0).items
    assert kept.acceptance.complete
    assert not kept.intact


def test_sold_names_a_reference_and_no_person(store):
    add(store, 1, CHECKED, Sold(buyer="B-1", by="desk"))
    with store.reading() as work:
        assert work.listing_steps.steps(1)[-1].step == Sold(buyer="B-1", by="desk")
