"""The store keeps ledgers whole: what was written is never changed."""

from __future__ import annotations

import sqlite3
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from sqlalchemy.exc import IntegrityError

from data.storage.store import open_store
from pricing.decisions.ledger import entry_of, reversal_of
from pricing.errors import NotFound
from pricing.records.cost import NewCost, ReferenceRate
from pricing.records.unit import Unit
from tests.deals import money

NOW = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
DAY = date(2026, 2, 20)


@pytest.fixture
def store(tmp_path):
    opened = open_store(f"sqlite:///{tmp_path}/shop.sqlite")
    with opened.writing(NOW) as work:
        for number in ("17", "18"):
            work.units.add(Unit.model_validate({"class": "lamp", "number": number}))
    yield opened
    opened.close()


def entry(paid="18.40", **more):
    stated = NewCost(kind="part", on=DAY, paid=money(paid, "USD"), reason="a bulb", **more)
    return entry_of(stated, "EUR", ReferenceRate(rate=1 / Decimal("1.1837"), day=DAY))


def test_entries_come_back_exactly_as_written_and_in_order(store):
    with store.writing(NOW) as work:
        kept = [work.ledger.add("17", entry(paid)) for paid in ("5", "18.41", "0.01")]
        work.ledger.add("18", entry(charged=money("3", "EUR")))
    with store.reading() as work:
        assert list(work.ledger.entries("17")) == kept
        assert [line.number for line in work.ledger.entries("18")] == [4]
        page = work.ledger.page("17", limit=1, offset=1)
    assert (page.items, page.total, page.offset) == ((kept[1],), 3, 1)


def test_a_reversal_is_written_once(store):
    with store.writing(NOW) as work:
        work.ledger.add("17", entry())
        undone = reversal_of(1, work.ledger.entries("17"), DAY, "typed twice")
        work.ledger.add("17", undone)

    def write_again():
        with store.writing(NOW) as work:
            work.ledger.add("17", undone)

    with pytest.raises(IntegrityError):
        write_again()
    with store.reading() as work:
        assert len(work.ledger.entries("17")) == 2


@pytest.mark.parametrize("change", ["UPDATE ledger SET entry_json = '{}'", "DELETE FROM ledger"])
def test_the_database_refuses_to_change_a_line(store, tmp_path, change):
    with store.writing(NOW) as work:
        work.ledger.add("17", entry())
    file = sqlite3.connect(tmp_path / "shop.sqlite")
    with pytest.raises(sqlite3.IntegrityError, match="never changed"):
        file.execute(change)
    file.close()


def test_a_ledger_belongs_to_a_stored_unit(store):
    with store.writing(NOW) as work:
        with pytest.raises(NotFound, match='no unit "19"'):
            work.ledger.add("19", entry())
        with pytest.raises(NotFound, match='no unit "19"'):
            work.ledger.entries("19")


def test_a_store_of_the_first_version_gets_a_ledger(tmp_path):
    open_store(f"sqlite:///{tmp_path}/shop.sqlite").close()
    file = sqlite3.connect(tmp_path / "shop.sqlite")
    later = "DROP TABLE ledger; DROP TABLE listing_steps; DROP TABLE acceptances; DROP TABLE plans;"
    later += "DROP TABLE photo_steps; DROP TABLE pictures;"
    later += "DROP TRIGGER listings_no_update; DROP TRIGGER listings_no_delete;"
    file.executescript(f"{later} UPDATE alembic_version SET version_num = '0001';")
    file.close()
    opened = open_store(f"sqlite:///{tmp_path}/shop.sqlite")
    with opened.writing(NOW) as work:
        work.units.add(Unit.model_validate({"class": "lamp", "number": "17"}))
        assert work.ledger.add("17", entry()).number == 1
    opened.close()
