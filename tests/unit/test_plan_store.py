"""The store keeps plans as they were given, beside the unit as it was."""

from __future__ import annotations

import sqlite3
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from data.storage.digest import digest_of
from data.storage.store import open_store
from pricing.errors import NotFound
from pricing.records.money import Money
from pricing.records.plan import Plan, PlanNode, PlanOutcome
from tests.builders import small_unit

NOON = datetime(2026, 3, 10, 12, tzinfo=UTC)


def euro(amount):
    return Money(amount=Decimal(amount), currency="EUR")


def small_plan(**more) -> Plan:
    end = PlanNode(do="stop", kind="stop", value=euro("60.00"), reached=0.7)
    works = PlanOutcome(chance=0.7, words="works", then=end)
    tree = PlanNode(do="clean", kind="repair", value=euro("58.10"), reached=1.0, outcomes=(works,))
    usual = {"first": "clean", "now": "stop", "now_net": euro("40.00"), "value": euro("58.10"), "gain": euro("18.10")}
    return Plan(**usual | {"tree": tree, "states": 2, "on": date(2026, 3, 10), "model": "ab"} | more)


@pytest.fixture
def store(tmp_path):
    opened = open_store(f"sqlite:///{tmp_path / 'shop.sqlite'}")
    yield opened
    opened.close()


def test_a_plan_comes_back_as_it_was_with_its_unit_and_digest(store):
    unit, plan = small_unit(number="17"), small_plan()
    with store.writing(NOON) as work:
        kept = work.plans.add(unit, plan)
    with store.reading() as work:
        assert work.plans.get(kept.number) == kept
    assert (kept.unit, kept.said, kept.at) == (unit, plan, "2026-03-10T12:00:00+00:00")
    assert kept.digest == digest_of(unit.model_dump_json(by_alias=True), plan.model_dump_json())


def test_plans_are_listed_by_unit_the_latest_first(store):
    with store.writing(NOON) as work:
        for number, value in (("17", "1.00"), ("18", "2.00"), ("17", "3.00")):
            work.plans.add(small_unit(number=number), small_plan(value=euro(value)))
    with store.reading() as work:
        mine = work.plans.page(unit_number="17", limit=9, offset=0)
        assert [kept.said.value.amount for kept in mine.items] == [Decimal("3.00"), Decimal("1.00")]
        assert work.plans.page(unit_number=None, limit=1, offset=1).total == 3
        with pytest.raises(NotFound, match="no plan 9"):
            work.plans.get(9)


def test_nobody_can_change_or_delete_a_plan(store, tmp_path):
    with store.writing(NOON) as work:
        work.plans.add(small_unit(number="17"), small_plan())
    store.close()
    connection = sqlite3.connect(tmp_path / "shop.sqlite")
    for change in ("UPDATE plans SET digest = 'x'", "DELETE FROM plans"):
        with pytest.raises(sqlite3.IntegrityError, match="never changed"):
            connection.execute(change)
    connection.close()
