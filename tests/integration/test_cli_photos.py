"""The command ``photos`` as a seller at the bench uses it."""

from __future__ import annotations

import json
from hashlib import sha256

import pytest

from tests.kept_listings import LENS
from tests.pictures import SECRET, jpeg

UNIT = {**LENS, "marks": [{"surface": "barrel", "kind": "dent", "size_mm": 3}], "looked_at": ["front_element"]}


@pytest.fixture
def bench(plainsale, tmp_path, monkeypatch):
    """The command line in a folder with a unit and pictures, whose store holds the unit U1."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "unit.json").write_text(json.dumps(UNIT))
    (tmp_path / f"{SECRET}.jpg").write_bytes(jpeg())
    (tmp_path / "notes.jpg").write_text("no picture")
    assert plainsale("import", "--units", "unit.json", "--class", "lens").code == 0
    return plainsale


def add(bench, shot="mark:barrel:dent", *more):
    return bench("photos", "--number", "U1", "--add", f"{SECRET}.jpg", "--shot", shot, *more)


def test_the_shots_of_a_file_need_no_store(plainsale, tmp_path):
    (tmp_path / "unit.json").write_text(json.dumps(UNIT))
    told = plainsale("photos", "--unit", tmp_path / "unit.json")
    assert told.code == 0
    assert "mark:barrel:dent (missing)" in told.out
    words = " ".join(told.out.split())
    assert "A ruler in the same plane" in words
    assert "Cover serial numbers" in words
    assert not (tmp_path / "home").exists()
    shots = plainsale("photos", "--unit", tmp_path / "unit.json", "--json").json["shots"]
    assert shots[0]["id"] == "whole"


def test_a_photo_is_kept_told_written_out_and_taken_off(bench, tmp_path):
    kept = add(bench)
    assert kept.code == 0, kept.err
    assert "kept for mark:barrel:dent as " in kept.err
    assert SECRET not in kept.out + kept.err
    told = bench("photos", "--number", "U1", "--json").json
    (photo,) = told["photos"]
    assert (photo["shot"], photo["outdated"]) == ("mark:barrel:dent", False)
    assert "mark:barrel:dent" not in told["missing"]
    assert f"there: {photo['digest'][:12]}" in bench("photos", "--number", "U1").out
    (tmp_path / "out").mkdir()
    assert bench("photos", "--number", "U1", "--out", "out", "--json").json == [f"out/{photo['digest']}.jpg"]
    assert sha256((tmp_path / "out" / f"{photo['digest']}.jpg").read_bytes()).hexdigest() == photo["digest"]
    assert "already" in add(bench).err
    gone = bench("photos", "--number", "U1", "--remove", photo["digest"][:12])
    assert (gone.code, photo["digest"] in gone.err) == (0, True)
    assert bench("photos", "--number", "U1", "--json").json["photos"] == []


def test_a_listing_shows_the_photo_and_an_outdated_one_is_told(bench, tmp_path):
    add(bench)
    assert "<img " in bench("list", "--number", "U1", "--format", "html").out
    assert "<img " not in bench("list", "--unit", "unit.json", "--format", "html").out
    found = bench("list", "--number", "U1", "--keep", "--json").json
    check = bench("listings", "--listing", found["number"], "--check")
    assert check.code == 3
    assert "photo missing: class (to be answered)" in check.out


@pytest.mark.parametrize(
    ("options", "code", "words"),
    [
        ((), 2, "name the unit"),
        (("--unit", "unit.json", "--number", "U1"), 2, "name the unit"),
        (("--unit", "unit.json", "--add", "notes.jpg", "--shot", "whole"), 2, "of stored units"),
        (("--number", "U1", "--add", "notes.jpg"), 2, "belong together"),
        (("--number", "U1", "--shot", "whole"), 2, "belong together"),
        (("--number", "U1", "--add", "notes.jpg", "--shot", "whole", "--remove", "a"), 2, "one at a time"),
        (("--number", "U1", "--add", "notes.jpg", "--shot", "whole"), 3, "notes.jpg: found no picture"),
        (("--number", "U1", "--add", "gone.jpg", "--shot", "whole"), 4, "no file gone.jpg"),
        (("--number", "U1", "--add", "notes.jpg", "--shot", "side"), 3, "one of its shots"),
        (("--number", "U1", "--remove", "0" * 12), 4, "no photo"),
        (("--number", "U9"), 4, "no unit"),
        (("--number", "U1", "--out", "nowhere"), 0, ""),
    ],
)
def test_what_cannot_be_is_told(bench, options, code, words):
    said = bench("photos", *options)
    assert said.code == code, said.err
    assert words in " ".join(said.err.replace("│", " ").split())
