"""The feed reads back as it was written, in CSV and NDJSON, whatever text a unit holds."""

from __future__ import annotations

import csv
import json
from datetime import date
from io import StringIO

import pytest

from listing_templates.feed import COLUMNS, csv_feed, guarded, ndjson_feed
from listing_templates.render import render_listing
from pricing.records.listing import FORMATS
from tests.builders import healthy, small_class, small_unit, spotless
from tests.hostile import HOSTILE, hostile_unit


def listing(format="text", **fields):
    return render_listing(spotless(**fields), small_class(), format=format, on=date(2026, 3, 5))


def rows(text):
    return list(csv.DictReader(StringIO(text, newline="")))


def test_both_feeds_hold_the_same_fields_in_the_same_order():
    made = [listing(number="U1", ask={"amount": "80", "currency": "JPY"}, functions=healthy(wifi="dead")), listing()]
    sheet = rows("".join(csv_feed(made)))
    lines = [json.loads(line) for line in ndjson_feed(made)]
    assert [list(row) for row in (*sheet, *lines)] == [list(COLUMNS)] * 4
    for row, line in zip(sheet, lines, strict=True):
        assert row == {name: "\n".join(v) if isinstance(v, list) else v or "" for name, v in line.items()}
    assert lines[0]["disclosures"] == ["Wi-Fi: not working."]
    assert (lines[0]["price"], lines[0]["currency"], lines[0]["condition"]) == ("80", "JPY", "damaged")
    assert (lines[1]["unit_number"], lines[1]["price"], lines[1]["written_for"]) == (None, None, "2026-03-05")


def test_a_feed_of_nothing_has_a_header_and_no_line():
    assert "".join(csv_feed([])) == ",".join(COLUMNS) + "\r\n"
    assert list(ndjson_feed([])) == []


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-1", "@SUM(1)", "\t=1", "\r=1", "\n=1", "＝1", "＋1", "－1", "＠1"])
def test_no_cell_is_a_formula(cell):
    assert guarded(cell) == "'" + cell
    assert guarded("Arvel " + cell) == "Arvel " + cell


@pytest.mark.parametrize("format", FORMATS)
@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_breaks_no_line_and_starts_no_formula(text, format):
    units = (hostile_unit(small_class(), text), small_unit(number=text, attributes={"brand": text}))
    made = [render_listing(unit, small_class(), format=format) for unit in units]
    sheet = rows("".join(csv_feed(made)))
    assert [row["body"].lstrip("'") for row in sheet] == [one.body for one in made]
    assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for row in sheet for cell in row.values())
    lines = list(ndjson_feed(made))
    assert [json.loads(line)["body"] for line in lines] == [one.body for one in made]


def test_a_text_that_a_seller_wrote_ends_no_line_either():
    body = "one\u2028two\x85three\nfour\ud800"
    made = [listing().model_copy(update={"body": body, "title": "=1"})]
    (line,) = ndjson_feed(made)
    assert line.splitlines() == [line.rstrip("\n")]
    assert json.loads(line)["body"] == body
    text = "".join(csv_feed(made))
    assert rows(text)[0]["title"] == "'=1"
    assert rows(text)[0]["body"] == body.replace("\ud800", "?")
    text.encode()
