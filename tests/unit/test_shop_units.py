"""Rows of a units file become units in hand."""

from __future__ import annotations

import pytest

from api.shop.units import NO_SYMPTOM, units_of_rows
from data.catalogue.reader import find_class
from data.importing.units_csv import read_units
from pricing.records.unit_columns import check_unit, columns_of_units

PHONE = find_class("phone")
HEAD = (
    "number,brand,storage_gb,opened,battery_share,fault:nfc,fault:camera_wide,mark:screen,mark:back_panel,"
    "mark:frame_left,part:screen,lock:owner_account"
)
ROW = "17,Aurel,128,by us,84.5,impaired,removed,dent+scratch,none,covered,third-party,locked"


@pytest.fixture
def reading(tmp_path):
    path = tmp_path / "units.csv"
    path.write_text(f"{HEAD}\n{ROW}\n,,,,,,,,,,,\n,,lots,,,,,,,,,\n")
    return read_units(path, PHONE)


def test_a_row_becomes_the_unit_that_it_describes(reading):
    unit, blank = units_of_rows(reading, PHONE)
    assert (unit.number, unit.opened, str(unit.battery_share)) == ("17", "by us", "84.5")
    assert unit.functions["nfc"].symptom == NO_SYMPTOM
    assert unit.functions["camera_wide"].status == "removed"
    assert {(mark.surface, mark.kind) for mark in unit.marks} == {("screen", "dent"), ("screen", "scratch")}
    assert (unit.looked_at, unit.covered) == (("back_panel",), ("frame_left",))
    assert [(part.part, part.origin) for part in unit.parts] == [("screen", "third-party")]
    assert unit.locks["owner_account"].state == "locked"
    assert blank.number is None
    check_unit(unit, PHONE)
    check_unit(blank, PHONE)


def test_the_unit_has_the_same_columns_as_its_row(reading):
    unit = next(units_of_rows(reading, PHONE))
    columns = columns_of_units((unit,), PHONE)
    for group in ("faults", "marks", "parts", "locks"):
        for name, column in getattr(reading.table, group).items():
            assert getattr(columns, group)[name].word(0) == column.word(0)
    assert columns.numbers["storage_gb"][0] == 128
    assert columns.texts["brand"].word(0) == "Aurel"


def test_a_function_that_the_file_does_not_mention_is_untested(reading):
    _, blank = units_of_rows(reading, PHONE)
    assert columns_of_units((blank,), PHONE).faults["nfc"].word(0) == "untested"
