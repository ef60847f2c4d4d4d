from __future__ import annotations

from typing import Any, get_args

import pytest

from data.catalogue.reader import class_names, find_class
from listing_templates.cautions import Situation, all_cautions, cautions_for, told
from pricing.records.stops import RULES_FIRST
from pricing.records.unit import Unit

ERASED = {"data_erased": "built-in erase"}
YES = {"answer": True, "by": "bench 2", "on": "2026-03-04"}
HOME = {"attributes": {"kind": "home"}}
CRACK = {"marks": [{"surface": "screen", "kind": "crack"}]}

TOLD: list[tuple[Situation, str, dict[str, Any], str]] = [
    ("power", "phone", {"cell": {"look": "smells"}}, "damaged cell"),
    ("post", "phone", {"cell": {"look": "swollen"}}, "damaged cell in carriage"),
    ("post", "phone", {"cell": {"had_impact": True}}, "doubtful cell"),
    ("post", "laptop", {"functions": {"touchpad": {"status": "impaired", "symptom": "raised"}}}, "doubtful cell"),
    ("clean", "phone", {}, "solvent"),
    ("post", "phone", CRACK, "broken glass"),
    ("publish", "phone", CRACK, "broken glass"),
    ("open", "console", HOME, "mains"),
    ("open", "camera", {}, "flash capacitor"),
    ("open", "laptop", {}, "laser"),
    ("scrap", "laptop", {"attributes": {"screen_kind": "tube backlight"}}, "tube light"),
    ("look", "phone", {"traces": ["insects"]}, "infested or soiled"),
    ("store", "camera", {"traces": ["mould"]}, "infested or soiled"),
    ("publish", "laptop", {"supply": {"maker": "not known", "marked": True, "damaged": False}}, "supply"),
    ("publish", "phone", {"data_erased": None}, "data"),
    ("publish", "phone", {"locks": {"owner_account": "locked"}}, "lock"),
    ("scrap", "phone", {"doubts": ["reported stolen"]}, "held back"),
    ("look", "phone", {"identities": {"body": "SN-11111", "board": "SN-22222"}}, "two identities"),
    ("publish", "console", {"functions": {"unmodified": "dead"}}, "changed system"),
    ("publish", "phone", {"functions": {"mobile_calls": "dead"}}, "no calls"),
    ("post", "phone", {}, "parcel with a cell"),
    ("scrap", "phone", {}, "loose cell"),
    ("scrap", "phone", {}, "waste"),
]  # fmt: skip


def names(situation: Situation, name: str = "phone", parts: tuple[str, ...] = (), **fields: Any) -> set[str]:
    unit = Unit.model_validate({"class": name, **ERASED, **fields})
    return {caution.name for caution in cautions_for(unit, find_class(name), situation, parts)}


@pytest.mark.parametrize(("situation", "name", "fields", "caution"), TOLD)
def test_a_caution_is_told_in_its_situation(
    situation: Situation, name: str, fields: dict[str, Any], caution: str
) -> None:
    assert caution in names(situation, name, **fields)


@pytest.mark.parametrize(
    ("situation", "name", "fields", "caution"),
    [
        ("post", "lens", {}, "parcel with a cell"),
        ("open", "console", {"attributes": {"kind": "hand-held"}}, "mains"),
        ("open", "camera", {"functions": {"flash_builtin": "not fitted"}}, "flash capacitor"),
        ("open", "laptop", {}, "tube light"),
        ("post", "phone", {"cell": {"had_impact": True, "handling": {"taken_out": YES}}}, "doubtful cell"),
        ("post", "phone", {"cell": {"look": "swollen", "handling": {"taken_out": YES}}}, "damaged cell"),
        ("publish", "phone", {}, "data"),
        ("publish", "phone", {"locks": {"network_lock": "locked"}}, "lock"),
        ("look", "phone", {"identities": {"body": "SN-11111", "board": "SN-11111"}}, "two identities"),
        ("publish", "phone", {"marks": [{"surface": "bezel", "kind": "crack"}]}, "broken glass"),
    ],
)
def test_a_caution_is_not_told_where_it_does_not_apply(
    situation: Situation, name: str, fields: dict[str, Any], caution: str
) -> None:
    assert caution not in names(situation, name, **fields)


def test_only_dangers_of_the_parts_that_come_off_are_told() -> None:
    assert "glass" in names("open", parts=("screen",))
    assert "glass" not in names("open", parts=("sim_tray",))
    assert "prying and heat" in names("open", parts=("sim_tray",))
    assert "laser" not in names("open", "laptop", parts=("keyboard",))


def test_every_list_ends_with_who_comes_first() -> None:
    phone = find_class("phone")
    said = told(cautions_for(Unit.model_validate({"class": "phone"}), phone, "open"))
    assert said[-1] == RULES_FIRST
    assert len(said) > 1
    assert told(()) == ()


def test_each_caution_has_words_a_source_and_can_be_met() -> None:
    for caution in all_cautions():
        assert caution.say.endswith("."), caution.name
        assert caution.source, caution.name
        assert len(caution.say) < 400, caution.name
    assert len({caution.name for caution in all_cautions()}) == len(all_cautions())


def test_every_situation_of_every_class_can_be_asked() -> None:
    for name in class_names():
        for situation in get_args(Situation):
            cautions_for(Unit.model_validate({"class": name}), find_class(name), situation)


def test_every_condition_in_the_file_was_met_by_one_of_the_units_above() -> None:
    met = {"cell", "glass"} | {caution for *_, caution in TOLD}
    assert {caution.name for caution in all_cautions()} - met <= {"prying and heat"}


def test_no_caution_offers_a_way_round_a_lock() -> None:
    words = " ".join(caution.say.lower() for caution in all_cautions())
    assert "no way round" in words
    for word in ("bypass", "unlock", "crack the code", "unlocking"):
        assert word not in words
