from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from data.catalogue.reader import class_names, find_class
from pricing.errors import HeldBack
from pricing.records.stops import (
    EVERYTHING,
    publishing_stops,
    refuse_if_held_back,
    stops_for,
    stops_of,
    with_checks_of_today,
)
from pricing.records.unit import Unit

DAY = "2026-03-03"
YES = {"answer": True, "by": "bench 2", "on": DAY}
NO = {**YES, "answer": False}
HANDLED = {"seen_flat": YES, "sound": YES, "in_voltage_range": YES, "sits_free": YES}
ERASED = {"data_erased": "built-in erase", "data_verified": True}


def kinds(deed: Any, name: str = "phone", **fields: Any) -> list[str]:
    unit = Unit.model_validate({"class": name, **ERASED, **fields})
    return [stop.kind for stop in stops_for(deed, unit, find_class(name))]


@pytest.mark.parametrize("doubt", ["reported stolen", "identity altered", "owner's data found"])
def test_goods_that_are_not_ours_to_sell_are_stopped_in_everything(doubt: str) -> None:
    unit = Unit.model_validate({"class": "phone", "number": "P-1", **ERASED, "doubts": [doubt]})
    for deed in EVERYTHING:
        assert stops_for(deed, unit, find_class("phone"))[0].kind == "held back"
    with pytest.raises(HeldBack, match=r"unit P-1.*neither sell nor strip"):
        refuse_if_held_back(unit)


def test_two_numbers_alone_are_told_but_stop_nothing() -> None:
    assert kinds("publish", identities={"body": "SN-1", "board": "SN-2"}) == []
    refuse_if_held_back(Unit.model_validate({"class": "phone", "identities": {"body": "SN-1", "board": "SN-2"}}))


@pytest.mark.parametrize(
    "way", [None, "", "not erased", "No.", "could not be erased, no power", "couldn't be done", "failed"]
)
def test_storage_that_is_in_and_was_not_erased_is_neither_published_nor_sent(way: str | None) -> None:
    for deed in ("publish", "send"):
        assert kinds(deed, data_erased=way) == ["data"]
    assert kinds("plan", data_erased=way) == []


@pytest.mark.parametrize("storage", ["destroyed", "handed over", "kept"])
def test_storage_that_was_taken_out_is_the_only_other_way(storage: str) -> None:
    assert kinds("publish", data_erased="not erased", storage=storage) == []


@pytest.mark.parametrize(
    "way", ["built-in erase", "factory reset, nothing left on it", "overwritten once", "drive's own erase command"]
)
def test_an_honest_way_of_erasing_is_not_taken_for_none(way: str) -> None:
    assert kinds("publish", data_erased=way) == []


def test_goods_without_storage_need_no_erasing() -> None:
    assert kinds("publish", "lens", data_erased=None) == []


@pytest.mark.parametrize("look", ["swollen", "dented", "punctured", "leaking", "hot", "smells"])
def test_a_damaged_cell_is_not_powered_published_or_sent_until_it_is_out(look: str) -> None:
    for deed in ("power", "publish", "send"):
        assert kinds(deed, cell={"look": look}) == ["damaged cell"]
        assert kinds(deed, cell={"look": look, "handling": HANDLED}) == ["damaged cell"]
        assert kinds(deed, cell={"look": look, "handling": {"taken_out": NO}}) == ["damaged cell"]
        assert kinds(deed, cell={"look": look, "handling": {"taken_out": YES}}) == []


@pytest.mark.parametrize(
    "fields",
    [
        {"cell": {"had_impact": True}},
        {"functions": {"frame_straight": {"status": "impaired", "symptom": "rocks"}}},
        {"marks": [{"surface": "screen", "kind": "lifted edge"}]},
        {"marks": [{"surface": "back_panel", "kind": "gap"}]},
    ],
)
def test_a_doubtful_cell_is_not_sent_until_every_answer_is_given(fields: dict[str, Any]) -> None:
    assert kinds("send", **fields) == ["doubtful cell"]
    assert kinds("publish", **fields) == []
    cell = fields.get("cell", {})
    assert kinds("send", **{**fields, "cell": {**cell, "handling": HANDLED}}) == []
    assert kinds("send", **{**fields, "cell": {**cell, "handling": {"taken_out": YES}}}) == []
    for left_out in HANDLED:
        short = {name: YES for name in HANDLED if name != left_out}
        assert kinds("send", **{**fields, "cell": {**cell, "handling": short}}) == ["doubtful cell"]
        refused = {**HANDLED, left_out: NO}
        assert kinds("send", **{**fields, "cell": {**cell, "handling": refused}}) == ["doubtful cell"]


@pytest.mark.parametrize("missing", ["by", "on"])
def test_a_tick_without_name_or_day_is_no_answer(missing: str) -> None:
    tick = {key: value for key, value in YES.items() if key != missing}
    with pytest.raises(ValueError, match=missing):
        Unit.model_validate({"class": "phone", "cell": {"handling": {"seen_flat": tick}}})
    with pytest.raises(ValueError, match="by"):
        Unit.model_validate({"class": "phone", "cell": {"handling": {"seen_flat": {**YES, "by": "  "}}}})


def test_a_unit_with_mains_inside_is_opened_only_by_somebody_named() -> None:
    home = {"attributes": {"kind": "home"}}
    assert kinds("open", "console", **home) == ["mains"]
    assert kinds("open", "console") == ["mains"]
    assert kinds("open", "console", **home, qualified=YES) == []
    assert kinds("open", "console", **home, qualified=NO) == ["mains"]
    assert kinds("open", "console", attributes={"kind": "hand-held"}) == []
    assert kinds("open", "phone") == []


def test_no_stop_offers_a_way_round_a_lock_and_all_have_a_reason() -> None:
    for name in class_names():
        device_class = find_class(name)
        unit = Unit.model_validate({
            "class": name, "doubts": ["reported stolen"], "cell": {"look": "swollen"},
            "locks": {lock.name: "locked" for lock in device_class.locks},
        })  # fmt: skip
        words = " ".join(f"{stop.reason} {stop.lifted_by}" for stop in stops_of(unit, device_class)).lower()
        for word in ("unlock", "bypass", "remove the lock", "way round", "get round"):
            assert word not in words
        assert all(stop.reason.endswith(".") for stop in stops_of(unit, device_class))


def test_a_check_of_a_lock_grows_old() -> None:
    phone = find_class("phone")
    found = {"state": "free", "checked_on": DAY, "way": "register"}
    unit = Unit.model_validate({"class": "phone", "locks": {"network_block": found, "network_lock": found}})
    fresh = with_checks_of_today(unit, phone, date(2026, 3, 17))
    old = with_checks_of_today(unit, phone, date(2026, 3, 18))
    assert fresh is unit
    assert old.locks["network_block"].state == "not checked"
    assert (old.locks["network_block"].checked_on, old.locks["network_block"].way) == (date(2026, 3, 3), "register")
    assert old.locks["network_lock"].state == "free"
    locked = Unit.model_validate({"class": "phone", "locks": {"network_block": {**found, "state": "locked"}}})
    assert with_checks_of_today(locked, phone, date(2030, 1, 1)).locks["network_block"].state == "locked"


def test_nothing_stops_publishing_a_unit_in_order() -> None:
    assert publishing_stops(Unit.model_validate({"class": "phone", **ERASED}), find_class("phone")) == ()
