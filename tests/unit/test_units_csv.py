"""Units files: every row keeps its place and its text, and a bad one says why."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from data.importing.units_csv import UnitsReading, read_units, survey_units
from pricing.errors import BadInput
from pricing.records.device_class import Attribute, DeviceClass, Function

KETTLE = DeviceClass(
    name="kettle",
    attributes=(Attribute(name="brand", kind="group"), Attribute(name="litres", kind="number")),
    functions=(Function(name="boils"),),
)


def read(tmp_path: Path, content: str) -> UnitsReading:
    path = tmp_path / "units.csv"
    path.write_text(content, encoding="utf-8", newline="")
    return read_units(path, KETTLE)


def test_every_row_keeps_its_place_and_its_text(tmp_path):
    reading = read(
        tmp_path,
        "shelf,brand,litres,fault:boils,price\n A1 ,Ambrisk,1.50,works,9\nA2,,x,works,\nA3\nA4, Boltern ,2,,\n",
    )
    assert reading.header == ("shelf", "brand", "litres", "fault:boils", "price")
    assert reading.cells[0] == (" A1 ", "Ambrisk", "1.50", "works", "9")
    assert reading.cells[2] == ("A3", "", "", "", "")
    assert reading.cells[3][1] == " Boltern "
    assert reading.table.rows == 4
    np.testing.assert_array_equal(reading.table.numbers["litres"], [1.5, np.nan, np.nan, 2.0])
    assert reading.table.texts["brand"].word(3) == "Boltern"
    assert reading.table.faults["boils"].word(3) is None
    assert set(reading.bad) == {1, 2}
    assert "line 3, litres" in reading.bad[1]
    assert "5 cells" in reading.bad[2]
    assert len(reading.problems) == 2
    assert any("price" in notice for notice in reading.notices)


def test_the_day_to_price_for_may_lie_ahead(tmp_path):
    reading = read(tmp_path, "brand,sold_on\nx,2099-01-01\ny,\n")
    assert str(reading.table.sold_on[0]) == "2099-01-01"
    assert np.isnat(reading.table.sold_on[1])
    assert read(tmp_path, "brand\nx\n").table.sold_on is None


@pytest.mark.parametrize("name", ["estimate", "low_80", "abstained"])
def test_a_column_that_pricing_adds_is_refused(tmp_path, name):
    with pytest.raises(BadInput, match="another name") as caught:
        read(tmp_path, f"brand,{name}\nx,1\n")
    assert caught.value.problems[0].column == name


def test_a_column_of_an_unknown_function_is_refused(tmp_path):
    with pytest.raises(BadInput, match="boils"):
        read(tmp_path, "brand,fault:flies\nx,works\n")


def test_a_brand_never_seen_is_no_problem(tmp_path):
    assert read(tmp_path, "brand\nNobody\n").problems == ()


@pytest.mark.parametrize("delimiter", [",", ";"])
@pytest.mark.parametrize("most", [1, 2, 4, 100])
def test_pieces_of_a_file_say_what_the_whole_says(tmp_path, delimiter, most):
    # Only the last row shows how numbers are written; the ones before it are read in its way.
    rows = ["x|1.234|works", "y||works", "z|two|dead", "x|2|cracked", "q", "x|1.5|"]
    path = tmp_path / "units.csv"
    path.write_text("\n".join(["brand|litres|fault:boils", *rows]).replace("|", delimiter) + "\n")
    whole, file = read_units(path, KETTLE), survey_units(path, KETTLE, most)
    pieces = list(file.pieces())
    assert (file.rows, file.header) == (6, whole.header)
    assert len(pieces) == -(-6 // most)
    assert sum((piece.cells for piece in pieces), ()) == whole.cells
    assert sum((piece.problems for piece in pieces), ()) == whole.problems
    assert len(whole.problems) == 3
    assert [reason for piece in pieces for reason in piece.bad.values()] == list(whole.bad.values())
    assert {notice: None for piece in pieces for notice in piece.notices} == dict.fromkeys(whole.notices)
    litres = np.concatenate([piece.table.numbers["litres"] for piece in pieces])
    np.testing.assert_array_equal(litres, [1.234, np.nan, np.nan, 2.0, np.nan, 1.5])
