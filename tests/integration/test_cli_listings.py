"""The command ``list`` within a channel's limits: what goes is told, what must stay is said or the listing refused."""

from __future__ import annotations

import json

import pytest

UNIT = {
    "class": "lens",
    "number": "U1",
    "attributes": {"brand": "Arvel", "model": "N2"},
    "functions": {"lens_focus": "dead"},
    "accessories": ["cap", "bag"],
    "ask": {"amount": "90", "currency": "EUR"},
}
CHANNEL = '[channel]\nname = "stall"\ntitle = "Stall"\ncurrency = "EUR"\n'


@pytest.fixture
def unit(tmp_path):
    path = tmp_path / "unit.json"
    path.write_text(json.dumps(UNIT))
    return path


def stall(tmp_path, **limits):
    path = tmp_path / "stall.toml"
    path.write_text(CHANNEL + "".join(f"{name} = {json.dumps(value)}\n" for name, value in limits.items()))
    return path


def test_what_a_channel_leaves_no_room_for_is_told_on_the_error_output(plainsale, unit, tmp_path):
    whole = plainsale("list", "--unit", unit)
    channel = stall(tmp_path, body_limit=len(whole.out) - 40)
    shorter = plainsale("list", "--unit", unit, "--channel", channel)
    assert (shorter.code, whole.err) == (0, "")
    assert len(shorter.out) <= len(whole.out) - 40
    assert "Left off for want of room: Count of functions" in shorter.err
    left_off = plainsale("list", "--unit", unit, "--channel", channel, "--json").json["left_off"]
    assert [sentence["id"] for sentence in left_off] == ["summary.counts"]


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        ({"body_limit": 200}, "200 are allowed"),
        ({"title_limit": 5}, "5 are allowed"),
        ({"formats": ["html"]}, "takes listings as html; found text"),
    ],
)
def test_a_channel_without_room_for_what_must_be_said_refuses(plainsale, unit, tmp_path, limits, words):
    refused = plainsale("list", "--unit", unit, "--channel", stall(tmp_path, **limits))
    assert refused.code == 3
    assert words in " ".join(refused.err.split())
    assert refused.out == ""


def test_an_unknown_channel_names_those_there_are(plainsale, unit):
    refused = plainsale("list", "--unit", unit, "--channel", "nowhere")
    assert refused.code == 4
    assert "counter" in refused.err
