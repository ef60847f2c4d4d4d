from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from api.shop.charts import IntervalRow, interval_chart

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = '</text><script>alert("1")</script> & "); datum("'
ROWS = (
    IntervalRow("camera dead", -20.0, -30.0, -10.0),
    IntervalRow(HOSTILE, 5.0, -5.0, 15.0, hollow=True),
    IntervalRow("a label that is far too long to stand beside a chart of any size", 40.0, 30.0, 50.0),
)


@pytest.fixture(scope="module")
def drawn() -> str:
    return interval_chart("states", ROWS, title="What <states> do", description="Three rows & no more.", axis="percent")


def texts(root):
    return ["".join(each.itertext()) for each in root.iter(f"{SVG}text")]


def test_a_chart_is_one_well_formed_picture_that_is_read_aloud_by_its_title(drawn):
    root = ElementTree.fromstring(drawn)
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "states-title states-desc"
    assert root.find(f"{SVG}title").text == "What <states> do"
    assert root.find(f"{SVG}desc").text == "Three rows & no more."


def test_labels_stand_in_the_order_of_the_rows_and_hostile_ones_stay_text(drawn):
    shown = texts(ElementTree.fromstring(drawn))
    labels = [text for text in shown if text.startswith(("camera", "</text>", "a label"))]
    assert labels[0] == "camera dead"
    assert labels[1].startswith("</text><script>")
    assert labels[2].endswith("…")
    assert "<script" not in drawn
    assert "percent" in shown


def test_a_chart_needs_no_network_and_no_script(drawn):
    addresses = set(re.findall(r"https?://[^\s\"']+", drawn))
    assert addresses <= {"http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"}
    assert not re.search(r"<image|<style|<foreignObject|\son\w+=|href=", drawn)


def test_each_row_has_a_dot_between_the_ends_of_its_line_and_thin_ones_are_hollow(drawn):
    dots = re.findall(r'<path [^>]*fill="(#\w+)" stroke="#1a1a1a" stroke-width="1.2"', drawn)
    assert dots == ["#1a1a1a", "#ffffff", "#1a1a1a"]
    lines = re.findall(r'<line transform="translate\(([\d.]+),[\d.]+\)" x2="([\d.]+)" [^>]*stroke-width="1.5"', drawn)
    starts, lengths = ([float(each) for each in column] for column in zip(*lines, strict=True))
    # From -30 to 50: all three intervals are 20 wide, so the lines are a quarter of the width and start at 0, 25, 60.
    assert lengths == pytest.approx([105.0] * 3)
    assert starts == pytest.approx([0.0, 131.25, 315.0])
    places = re.findall(r'<path [^>]*transform="translate\(([\d.]+),[\d.]+\)" d="M3,0A3', drawn)
    assert [float(place) for place in places] == pytest.approx([52.5, 183.75, 367.5])


def test_nothing_is_told_by_colour(drawn):
    colours = set(re.findall(r"#[0-9a-f]{6}\b|#[0-9a-f]{3}\b", drawn))
    assert all(len(set(re.findall("..", colour[1:]))) == 1 for colour in colours if len(colour) == 7)
