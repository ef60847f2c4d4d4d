"""The command ``ask`` as a user meets it."""

from __future__ import annotations

import pytest


@pytest.fixture
def asked(plainsale, goods):
    """Run ``ask`` on the story's unit."""

    def run(*options):
        return plainsale("ask", "--model", goods.model, "--unit", goods.unit, *options)

    return run


def test_it_says_what_to_ask_how_soon_it_sells_and_what_is_assumed(asked):
    told = asked("--holding", "0.20", "--patience", "45")
    words = " ".join(told.out.split())
    assert told.code == 0
    assert words.startswith("Ask ")
    assert "Time to sell: ASSUMED as the class phone states, not learnt" in words
    assert "in 7 days" in words
    assert "When nobody comes" in words
    assert "no channel was named" in words


def test_json_has_the_whole_curve_and_says_that_the_time_to_sell_is_assumed(asked):
    found = asked("--json").json
    assert found["basis"]["kind"] == "assumed"
    assert found["basis"]["words"].startswith("ASSUMED")
    assert len(found["curve"]) == 15
    assert [chance["days"] for chance in found["best"]["chances"]] == [7, 14, 30, 60]


def test_with_the_sales_behind_the_model_the_days_are_learnt(asked, goods):
    found = asked("--sales", goods.sales, "--channel", "online-market", "--json").json
    assert found["basis"]["kind"].startswith("listings")
    assert found["basis"]["listings"] > found["basis"]["sold"] > 30
    assert "net of the channel online-market, without tax" in found["assumes"]


def test_the_picture_is_written(asked, tmp_path):
    assert asked("--svg", tmp_path / "ask.svg").code == 0
    assert (tmp_path / "ask.svg").read_text().startswith("<svg")


@pytest.mark.parametrize(
    ("options", "code", "words"),
    [
        (("--holding", "much"), 2, "is no number"),
        (("--holding", "inf"), 2, "has no end"),
        (("--holding", "-1"), 3, "holding: found -1; expected an amount of at least 0"),
        (("--patience", "0"), 3, "patience: found 0; expected 1 to 3650 days"),
        (("--channel", "nowhere"), 4, "no channel"),
        (("--sales", "nothing.csv"), 4, "there is no file nothing.csv"),
    ],
)
def test_what_is_wrong_is_said_in_one_line(asked, options, code, words):
    seen = asked(*options)
    assert seen.code == code
    assert words in " ".join(seen.err.replace("│", " ").split())
    assert seen.out == ""
    assert "Traceback" not in seen.err
