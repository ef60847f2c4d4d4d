"""The command ``lot`` as a user meets it."""

from __future__ import annotations

import json

import pytest


@pytest.fixture
def bid(plainsale, goods):
    """Run ``lot`` on the units of the shelf."""

    def run(*options):
        return plainsale("lot", "--model", goods.model, "--units", goods.units, *options)

    return run


def test_it_says_the_bid_its_losses_and_what_is_assumed(bid):
    told = bid("--premium", "18", "--carriage", "20", "--rivals", "3")
    words = " ".join(told.out.split())
    assert told.code == 0
    assert words.startswith("Bid at most ")
    assert "of 100 like lots lose money; 10 are accepted" in words
    assert "winning is bad news" in words
    assert "drawn from rates, because the description leaves them open" in words


def test_json_has_the_curve_and_a_loss_as_accepted(bid):
    found = bid("--accept", "20", "--json").json
    assert found["accepted"] == 0.2
    assert found["at_bid"]["loss"] == pytest.approx(0.2, abs=0.001)
    assert len(found["curve"]) == 11
    losses = [point["loss"] for point in found["curve"]]
    assert losses == sorted(losses)


def test_own_history_and_a_picture(bid, tmp_path):
    (tmp_path / "history.json").write_text(json.dumps({"units": 200, "missing": 100}))
    usual = float(bid("--json").json["worth"]["amount"])
    warned = bid("--json", "--history", tmp_path / "history.json", "--svg", tmp_path / "bid.svg").json
    assert float(warned["worth"]["amount"]) < 0.7 * usual
    assert (tmp_path / "bid.svg").read_text().startswith("<svg")


def test_a_lot_that_costs_more_than_it_brings_is_not_bid_for(bid):
    told = bid("--carriage", "100000")
    assert told.code == 0
    assert "Do not bid: even as a gift it loses money in 100.0 of 100 cases" in " ".join(told.out.split())


@pytest.mark.parametrize(
    ("options", "code", "words"),
    [
        (("--accept", "0"), 3, "accepted: found 0; expected a chance of loss above 0 and below 1"),
        (("--accept", "150"), 3, "accepted: found 1.5"),
        (("--rivals", "99"), 3, "rivals: found 99; expected 0 to 50"),
        (("--premium", "-5"), 3, "premium_percent"),
        (("--currency", "ZZZ"), 3, "currency"),
        (("--history", "none.json"), 4, "there is no file none.json"),
        (("--channel", "nowhere"), 4, "no channel"),
    ],
)
def test_what_is_wrong_is_said(bid, options, code, words):
    seen = bid(*options)
    assert seen.code == code
    assert words in " ".join(seen.err.split())
    assert seen.out == ""
    assert "Traceback" not in seen.err
