"""A unit from JSON: every mistake is named by its key, and nothing uncertain is taken."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from data.importing.unit_json import read_unit, unit_from_text
from pricing.errors import BadInput, NotFound
from pricing.records.unit import Unit

WHOLE = {
    "class": "phone",
    "attributes": {"brand": "Ambrisk", "storage_gb": 128, "battery": 86.5, "region": None},
    "functions": {
        "camera_wide": "removed",
        "wifi": {"status": "impaired", "symptom": "weak", "tested_on": "2026-01-02", "minutes": 3},
    },
    "marks": [{"surface": "screen", "kind": "crack", "size_mm": 20, "count": 2, "visible_at_arms_length": True}],
    "parts": [{"part": "screen", "origin": "third-party"}],
    "opened": "by us",
    "opened_on": "2026-01-03",
    "liquid_indicator": "white",
    "locks": {"owner_account": "free"},
    "battery_share": 86,
    "data_erased": "built-in erase",
    "accessories": ["cable"],
    "history": [{"on": "2026-01-03", "what": "screen changed"}],
    "ask": {"amount": 90, "currency": "EUR"},
}


def test_every_key_of_a_unit_is_read(tmp_path):
    path = tmp_path / "unit.json"
    path.write_text(json.dumps(WHOLE), encoding="utf-8-sig")
    unit = read_unit(path)
    assert unit.device_class == "phone"
    assert unit.functions["camera_wide"].status == "removed"
    assert unit.functions["wifi"].tested_on == date(2026, 1, 2)
    assert unit.attributes["battery"] == Decimal("86.5")
    assert unit.attributes["storage_gb"] == Decimal(128)
    assert unit.locks["owner_account"].state == "free"
    assert unit.ask is not None
    assert unit.ask.amount == 90


@pytest.mark.parametrize(
    ("text", "line", "column", "expected"),
    [
        ("", 1, None, "JSON"),
        ('{"class": "phone",\n "opened": }', 2, None, "JSON"),
        ("[1]", 1, None, "object in braces"),
        ("{}", None, "class", "this key"),
        ('{"class": "phone", "class": "laptop"}', None, "class", "each key once"),
        ('{"class": "phone", "battery_share": NaN}', None, None, "a finite number"),
        ('{"class": "phone", "battery_share": 1e999}', None, None, "a finite number"),
        ('{"class": "phone", "battery_share": 1e99999999999999999999}', None, None, "a finite number"),
        ('{"class": "phone", "attributes": {"year": ' + "9" * 5000 + "}}", None, None, "at most 30 digits"),
        ('{"class": "phone", "note": "\\ud800"}', None, None, "whole characters"),
        ("[" * 100_000, None, None, "a unit"),
        ('{"class": "phone", "colour": "red"}', None, "colour", "no such key"),
        ('{"class": "phone", "battery_share": 900}', None, "battery_share", "150"),
        ('{"class": "phone", "opened": "maybe"}', None, "opened", "by others"),
        ('{"class": "phone", "opened_on": "soon"}', None, "opened_on", "YYYY-MM-DD"),
        ('{"class": "phone", "functions": {"wifi": "broken"}}', None, "functions.wifi.status", "works"),
        ('{"class": "phone", "functions": {"wifi": "impaired"}}', None, "functions.wifi", "symptom"),
        ('{"class": "phone", "marks": [{"kind": "crack"}]}', None, "marks.0.surface", "this key"),
        ('{"class": "phone", "ask": {"amount": 5, "currency": "XQZ"}}', None, "ask.currency", "ISO 4217"),
    ],
)
def test_a_mistake_is_named_by_its_key(text, line, column, expected):
    with pytest.raises(BadInput) as caught:
        unit_from_text(text, "request")
    problem = caught.value.problems[0]
    assert (problem.source, problem.line, problem.column) == ("request", line, column)
    assert expected in problem.expected
    assert len(str(problem)) < 400


def test_all_mistakes_are_told_at_once():
    with pytest.raises(BadInput) as caught:
        unit_from_text('{"class": "phone", "opened": "maybe", "locks": {"a": "open"}, "history": 3}', "request")
    assert len(caught.value.problems) == 3


def test_a_file_that_is_no_text_is_refused(tmp_path):
    path = tmp_path / "unit.json"
    path.write_bytes(b'{"class":\n "ph\xffne"}')
    with pytest.raises(BadInput, match="line 2: found the byte 0xff"):
        read_unit(path)
    with pytest.raises(NotFound):
        read_unit(tmp_path / "none.json")
    with pytest.raises(BadInput):
        read_unit(tmp_path)


JSON_VALUES = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=4), inner, max_size=2),
    max_leaves=4,
)


@given(st.dictionaries(st.sampled_from([*WHOLE, "x"]), JSON_VALUES, max_size=4) | st.text(max_size=20))
def test_nothing_but_bad_input_comes_of_any_text(fields):
    text = fields if isinstance(fields, str) else json.dumps({"class": "phone"} | fields)
    try:
        unit = unit_from_text(text, "request")
    except BadInput:
        return
    assert isinstance(unit, Unit)
