"""The command ``intake`` as somebody at the bench uses it."""

from __future__ import annotations

import json

import pytest

SERIAL = "SN-77-ABC-901"
UNIT = {"class": "phone", "number": "U1", "attributes": {"brand": "Arvel", "model": "N2"}}
GOOD = f"""key,answer,symptom,day,minutes,way,size_mm,count
identity:body,{SERIAL},,,,,,
function:wifi,works,,2026-03-03,5,,,
function:loudspeaker,impaired,rattles at full volume,2026-03-03,,,,
surface:back_panel,scratch,,,,,12.5,2
lock:owner_account,free,,,,first start without the network,,
"""


@pytest.fixture
def bench(plainsale, tmp_path, monkeypatch):
    """The command line in a folder with a unit and answers, whose store holds the unit U1."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "unit.json").write_text(json.dumps(UNIT))
    (tmp_path / "answers.csv").write_text(GOOD)
    assert plainsale("import", "--units", "unit.json", "--class", "phone").code == 0
    return plainsale


def words(ran):
    return " ".join(ran.out.split())


def test_a_unit_of_which_nothing_is_known_is_asked_for_danger_first_and_needs_no_store(plainsale, tmp_path):
    told = plainsale("intake", "--class", "phone")
    assert told.code == 0
    said = words(told)
    places = [said.index(heading) for heading in ("danger look", "identity", "gates", "surfaces", "inside", "locks")]
    assert places == sorted(places)
    assert said.index("cell:look") < said.index("function:power_on")
    assert told.out.index("Before you open it:") < told.out.index("\nopened\n")
    assert "licensed person" in said
    assert not (tmp_path / "home").exists()


def test_answers_become_a_new_version_of_the_stored_unit_and_are_not_asked_again(bench):
    before = bench("intake", "--number", "U1", "--json").json
    after = bench("intake", "--number", "U1", "--answers", "answers.csv", "--json")
    assert after.code == 0, after.err
    assert (before["version"], after.json["version"]) == (1, 2)
    assert before["open"] - after.json["open"] == 5
    states = {question["key"]: question for question in after.json["questions"]}
    assert states["function:loudspeaker"]["answer"] == "impaired: rattles at full volume"
    assert states["function:wifi"]["state"] == "answered"
    assert "function:wifi" not in bench("intake", "--number", "U1").out
    assert "So far: works" in words(bench("intake", "--number", "U1", "--all"))


def test_no_output_shows_an_identity_in_full(bench):
    for told in (
        bench("intake", "--number", "U1", "--answers", "answers.csv"),
        bench("intake", "--number", "U1", "--all"),
        bench("intake", "--number", "U1", "--json"),
    ):
        assert told.code == 0
        assert SERIAL not in told.out + told.err


def test_answers_for_a_file_are_written_to_a_new_file(bench, tmp_path):
    made = bench("intake", "--unit", "unit.json", "--answers", "answers.csv", "--out", "known.json")
    assert made.code == 0, made.err
    unit = json.loads((tmp_path / "known.json").read_text())
    assert unit["functions"]["wifi"] == {"status": "works", "tested_on": "2026-03-03", "minutes": 5.0}
    assert unit["marks"] == [{"surface": "back_panel", "kind": "scratch", "size_mm": 12.5, "count": 2}]
    assert json.loads((tmp_path / "unit.json").read_text()) == UNIT
    assert bench("list", "--unit", "known.json").code == 0


def test_answers_may_be_json_too(bench, tmp_path):
    given = {"answers": [{"key": "function:wifi", "answer": "dead"}]}
    (tmp_path / "answers.json").write_text(json.dumps(given))
    told = bench("intake", "--number", "U1", "--answers", "answers.json", "--on", "2026-03-04", "--json")
    assert told.code == 0, told.err
    assert {q["key"]: q["answer"] for q in told.json["questions"]}["function:wifi"] == "dead"


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("key,answer\nfunction:wify,works\n", ("line 2", "function:wify", "function:wifi")),
        ("key,answer\nfunction:wifi,fine\n", ("line 2", "fine", "works, impaired, dead")),
        ("key,answer\nfunction:wifi,impaired\n", ("line 2", "symptom")),
        ("key,answer,day\nfunction:wifi,works,yesterday\n", ("line 2", "day", "YYYY-MM-DD")),
        ("key,answer,size_mm\nsurface:back_panel,scratch,-3\n", ("line 2", "size_mm")),
        ("key\nfunction:wifi\n", ("answer", "a column named answer")),
        ("key,answer,mood\nfunction:wifi,works,good\n", ("mood",)),
        ("key,answer\nfunction:wifi,works,more\n", ("line 1", "as many cells")),
        ("", ("answers.csv",)),
    ],
)
def test_bad_answers_are_told_by_place_and_nothing_is_taken(bench, tmp_path, rows, said):
    (tmp_path / "answers.csv").write_text(rows)
    told = bench("intake", "--number", "U1", "--answers", "answers.csv")
    assert told.code == 3
    assert told.out == ""
    for words_of_it in said:
        assert words_of_it in " ".join(told.err.split())
    assert bench("intake", "--number", "U1", "--json").json["version"] == 1


def test_with_keep_good_bad_answers_are_left_out_and_told(bench, tmp_path):
    (tmp_path / "answers.csv").write_text("key,answer\nfunction:wifi,works\nfunction:nfc,perhaps\n")
    told = bench("intake", "--number", "U1", "--answers", "answers.csv", "--keep-good", "--json")
    assert told.code == 3
    assert "1 bad answer left out" in told.err
    states = {question["key"]: question["state"] for question in told.json["questions"]}
    assert (states["function:wifi"], states["function:nfc"]) == ("answered", "open")


@pytest.mark.parametrize(
    "options",
    [
        (),
        ("--class", "phone", "--number", "U1"),
        ("--unit", "unit.json", "--answers", "answers.csv"),
        ("--unit", "unit.json", "--out", "new.json"),
        ("--number", "U1", "--answers", "answers.csv", "--out", "new.json"),
    ],
)
def test_options_that_do_not_go_together_are_a_mistake_in_usage(bench, options):
    assert bench("intake", *options).code == 2


def test_a_swollen_cell_stops_everything_at_the_top(bench, tmp_path):
    (tmp_path / "answers.csv").write_text("key,answer\ncell:look,swollen\n")
    told = bench("intake", "--number", "U1", "--answers", "answers.csv")
    assert told.code == 0
    first = words(told)[:600]
    assert first.startswith("stop: ")
    assert "Cell damaged: no power, no charge, no test." in words(told)
