"""The commands ``list`` and ``listings`` from the draft to the sale, as a seller at the machine uses them."""

from __future__ import annotations

import json
import re

import pytest

from tests.kept_listings import LENS, TERMS


@pytest.fixture
def bench(plainsale, tmp_path, monkeypatch):
    """The command line in a shop with its terms, whose store holds the unit U1."""
    for name, value in {**TERMS, "country": "de"}.items():
        monkeypatch.setenv(f"PLAINSALE_{name.upper()}", str(value))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "unit.json").write_text(json.dumps(LENS))
    assert plainsale("import", "--units", "unit.json", "--class", "lens").code == 0
    return plainsale


def draft(bench, *more):
    kept = bench("list", "--number", "U1", "--keep", "--json", *more)
    assert kept.code == 0, kept.err
    return kept.json["number"]


def checked(bench, number):
    """Check and answer until nothing stands open; return the digest of the text."""
    check = bench("listings", "--listing", number, "--check", "--json").json["check"]
    for place, raised in enumerate(check["findings"], start=1):
        if not raised["answer"]:
            told = ("--answer", place, "--reason", "an adviser said so", "--by", "desk", "--json")
            check = bench("listings", "--listing", number, *told).json["check"]
    assert check["passed"], check
    return check["text_digest"]


def published(bench, *more):
    number = draft(bench, *more)
    done = bench("listings", "--listing", number, "--publish", checked(bench, number)[:12], "--by", "desk", "--json")
    assert (done.code, done.json["state"]) == (0, "published"), done.err
    return number


def test_a_draft_is_kept_and_told_how_to_go_on(bench):
    kept = bench("list", "--number", "U1", "--keep")
    assert kept.code == 0
    assert "Arvel N2" in kept.out
    assert "kept as listing 1, a draft: plainsale listings --listing 1 --check" in " ".join(kept.err.split())
    (listed,) = bench("listings", "--json").json
    assert (listed["number"], listed["state"], listed["history"]) == (1, "draft", [])
    assert re.search(r"1\s+U1\s+draft\s+en text\s+Arvel N2", bench("listings").out)


def test_a_check_names_what_stands_open_and_then_the_way_to_publish(bench):
    number = draft(bench)
    found = bench("listings", "--listing", number, "--check")
    assert found.code == 3
    assert "1. not stated" in found.out
    assert "(to be answered)" in found.out
    digest = checked(bench, number)
    well = bench("listings", "--listing", number, "--check")
    assert well.code == 0
    assert "because: an adviser said so" in " ".join(well.out.split())
    assert f"--listing {number} --publish {digest[:12]}" in " ".join(well.out.split())


def test_publishing_selling_and_everything_between_stand_in_the_history(bench, tmp_path):
    number = published(bench)
    text = bench("listings", "--listing", number, "--json").json["text"]
    (tmp_path / "seen.txt").write_text(text)
    assert bench("listings", "--listing", number, "--read-back", "seen.txt", "--json").json["same"] == "the same"
    (tmp_path / "cut.txt").write_text(text[: len(text) // 3])
    cut = bench("listings", "--listing", number, "--read-back", "cut.txt")
    assert cut.code == 3
    assert "What stands there is changed." in cut.out
    assert "lost: " in cut.out
    lines = bench("listings", "--listing", number, "--lines", "--json").json
    assert (lines["way"], lines["message"]) == ("checkout", "")
    answered = bench("listings", "--listing", number, "--accepted", "B-1", "--json")
    assert answered.json["complete"]
    assert answered.json["acceptance"]["way"] == "message"
    sold = bench("listings", "--listing", number, "--sold", "--buyer", "B-1", "--by", "desk")
    assert (sold.code, sold.err) == (0, "")
    for words in ("sold. Arvel N2", "confirmed by desk", "the same, 0 findings", "B-1 (desk)"):
        assert words in sold.out
    assert bench("listings", "--state", "published", "--json").json == []


def test_lines_that_are_not_all_accepted_do_not_count(bench):
    number = published(bench)
    part = bench("listings", "--listing", number, "--accepted", "B-1", "--line", 1, "--line", 2)
    assert part.code == 3
    assert "B-1 accepts 2 of" in part.out
    assert "no answer is kept" in bench("listings", "--listing", number, "--sold", "--by", "d", "--buyer", "B-1").err


def test_a_channel_that_takes_no_answers_gets_its_message(bench):
    number = published(bench, "--channel", "online-market")
    told = bench("listings", "--listing", number, "--lines")
    assert "takes no answer to each line" in told.err
    assert "Please answer before you pay." in told.out
    assert "\n1. " in told.out


def test_feed_and_sheet_hold_what_stands_and_what_it_cost_changes_no_fact(bench, tmp_path):
    number = published(bench)
    assert "Arvel N2" in bench("listings", "--feed", "csv").out
    (tmp_path / "sheet.html").write_text(bench("listings", "--listing", number, "--sheet").out)
    assert "BGB" in (tmp_path / "sheet.html").read_text()
    bench("cost", "--number", "U1", "--add", "purchase", "--paid", "9 EUR", "--bought-from", "private person")
    assert bench("listings", "--listing", number, "--json").json["changed"] == []
    assert "Changed since" not in bench("listings", "--listing", number).out


def test_why_and_answers_to_buyers(bench, tmp_path):
    said = bench("list", "--unit", "unit.json", "--why", "function.dead")
    assert said.code == 0
    assert "Focus ring and motor: not working. Recorded by the shop." in said.out
    assert bench("list", "--unit", "unit.json", "--why", "function.shiny").code == 4
    (tmp_path / "answer.txt").write_text("We send it on Monday.")
    assert bench("list", "--unit", "unit.json", "--check", "answer.txt", "--answer").code == 0
    assert bench("list", "--unit", "unit.json", "--check", "answer.txt").code == 3
    (tmp_path / "answer.txt").write_text("The focus ring and motor works.")
    told = bench("list", "--unit", "unit.json", "--check", "answer.txt", "--answer", "--json")
    assert [finding["kind"] for finding in told.json] == ["against fact"]


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["list"], 2, "one of the two"),
        (["list", "--unit", "unit.json", "--number", "U1"], 2, "one of the two"),
        (["list", "--number", "U9"], 4, 'no unit "U9"'),
        (["list", "--number", "U1", "--answer"], 2, "name that too"),
        (["list", "--number", "U1", "--keep", "--channel", "x.toml"], 2, "name of a channel"),
        (["listings", "--listing", 9], 4, "no listing 9"),
        (["listings", "--check"], 2, "needs the number"),
        (["listings", "--listing", 1, "--check", "--sold"], 2, "one at a time"),
        (["listings", "--listing", 1, "--feed", "csv"], 2, "leave --listing out"),
        (["listings", "--listing", 1, "--publish", "0" * 12, "--by", "desk"], 3, "must be checked"),
        (["listings", "--listing", 1, "--answer", 1, "--reason", "so it is", "--by", "desk"], 3, "found something"),
        (["listings", "--listing", 1, "--sold", "--by", "desk"], 3, "must be published"),
        (["listings", "--listing", 1, "--withdraw", "--by", "desk"], 3, "reason"),
        (["listings", "--listing", 1, "--withdraw", "--reason", "gone"], 3, "by"),
        (["listings", "--listing", 1, "--accepted", "B-1"], 3, "nothing of it was published"),
        (["listings", "--listing", 1, "--edit", "none.txt"], 4, "no file"),
        (["listings", "--listing", 1, "--read-back", "unit.json"], 3, "must be published"),
        (["listings", "--listing", 1, "--sheet"], 3, "nothing of it was published"),
    ],
)
def test_what_cannot_be_is_told_in_words(bench, arguments, code, words):
    draft(bench)
    refused = bench(*arguments)
    assert refused.code == code, refused.err
    assert words in " ".join(re.sub(r"[│╭╮╰╯─]", " ", refused.err).split())
    assert "Traceback" not in refused.err


def test_a_publisher_who_is_not_named_and_a_buyer_with_a_name_are_refused(bench):
    number = draft(bench)
    digest = checked(bench, number)
    assert "confirmed_by" in bench("listings", "--listing", number, "--publish", digest).err
    assert bench("listings", "--listing", number, "--publish", digest, "--by", "desk").code == 0
    named = bench("listings", "--listing", number, "--accepted", "Some Body")
    assert (named.code, named.out) == (3, "")
    assert "buyer" in named.err
