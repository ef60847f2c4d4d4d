"""The demo does the whole job, and says that it is invented."""

from __future__ import annotations

import pytest

from api.shop.demo import free_folder
from api.shop.demo_goods import STORY_CHANGES


@pytest.fixture
def story(plainsale, tmp_path):
    told = plainsale("demo", "--folder", tmp_path / "goods", "--json")
    assert told.code == 0, told.err
    return told.json


def test_the_demo_prices_explains_changes_lists_and_checks(story):
    amount = float(story["estimate"]["estimate"]["amount"])
    parts = story["explanation"]["contributions"]
    rebuilt = float(story["explanation"]["reference"]["amount"]) + sum(float(p["money"]["amount"]) for p in parts)
    assert round(rebuilt, 2) == amount
    assert len(story["explanation"]["nearest"]) == 5
    assert list(story["what_if"]) == list(STORY_CHANGES)
    missing = story["what_if"]["the ultra-wide camera works again"]
    assert float(missing["low_95"]["amount"]) > 0
    assert float(story["what_if"]["the main camera is dead as well"]["change"]["amount"]) < 0
    first = story["listing"].index("First, what matters most")
    assert first < story["listing"].index("Ultra-wide camera: disconnected")
    assert "Ultra-wide camera: disconnected" not in story["tampered"]
    assert {"missing", "against fact"} <= {finding["kind"] for finding in story["findings"]}
    assert {finding["fact"] for finding in story["findings"]} >= {"function:camera_wide"}


def test_the_demo_tells_every_step_and_leaves_its_files(plainsale, tmp_path):
    told = plainsale("demo", "--folder", tmp_path / "goods")
    words = " ".join(told.out.split())
    assert told.code == 0
    for step in "123456":
        assert f"{step}. " in told.out
    for said in ("invented", "The missing camera costs", "95 of 100 like cases", "typical unit", "my-sales.csv"):
        assert said in words
    beside = ("phone.json", "phone.card.html", "phone.card.md")
    for name in ("phone-sales.csv", "phone-units.csv", *beside, "unit.json", "listing.txt", "shop.sqlite"):
        assert (tmp_path / "goods" / name).exists()
    again = plainsale("demo", "--folder", tmp_path / "goods")
    assert again.code == 3
    assert "new or empty folder" in again.err


def test_without_a_folder_the_demo_never_writes_over_an_earlier_one(monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    assert str(free_folder("plainsale-demo")) == "plainsale-demo"
    (tmp_path / "plainsale-demo").mkdir()
    assert str(free_folder("plainsale-demo")) == "plainsale-demo-2"
