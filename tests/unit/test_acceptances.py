"""Answers of buyers in a shop: line by line, for the text that stands, by the way that the channel has."""

from __future__ import annotations

import pytest

from api.shop.acceptances import accept, answered_form, deviation_form, deviation_lines, list_acceptances
from api.shop.kept_listings import sell, withdraw
from data.catalogue.channel_reader import find_channel
from pricing.errors import BadInput, ListingRefused, NotFound
from tests.kept_listings import change, draft, published, shop_in


@pytest.fixture
def shop(tmp_path):
    made = shop_in(tmp_path, country="de")
    yield made
    made.close()


def all_lines(shop, number):
    return [line.number for line in deviation_lines(shop, number).lines]


def answer(shop, number, lines=None, **changes):
    told = deviation_lines(shop, number)
    given = {"buyer": "B-1", "text_digest": told.text_digest, "lines": all_lines(shop, number), "way": "checkout"}
    return accept(shop, number, **{**given, **({} if lines is None else {"lines": lines}), **changes})


def test_an_answer_is_kept_with_reference_time_digest_and_every_line(shop):
    number = published(shop)
    told = deviation_lines(shop, number)
    kept = answer(shop, number)
    assert kept.acceptance.complete
    assert kept.acceptance.text_digest == told.text_digest
    assert [line.text for line in kept.acceptance.lines] == [line.text for line in told.lines]
    assert kept.at.startswith("2026-06-10T09:00")
    assert list_acceptances(shop, number, buyer="B-1", limit=0, offset=0).items == (kept,)
    assert list_acceptances(shop, number, buyer="B-2", limit=0, offset=0).items == ()
    assert sell(shop, number, by="desk", buyer="B-1").notices == ()


def test_an_answer_without_one_line_is_kept_but_does_not_count(shop):
    number = published(shop)
    kept = answer(shop, number, lines=all_lines(shop, number)[1:])
    assert not kept.acceptance.complete
    assert "Not complete yet: line 1." in answered_form(shop, kept)
    assert len(sell(shop, number, by="desk", buyer="B-1").notices) == 1


@pytest.mark.parametrize("changes", [{"text_digest": "0" * 64}, {"lines": [0]}, {"lines": [1, 99]}])
def test_an_answer_to_another_text_or_line_is_refused(shop, changes):
    number = published(shop)
    with pytest.raises(BadInput):
        answer(shop, number, **changes)
    assert list_acceptances(shop, number, limit=0, offset=0).total == 0


def test_lines_are_offered_only_while_the_listing_stands_and_is_true(shop):
    number = published(shop)
    change(shop, opened="by others")
    for ask in (deviation_lines, deviation_form):
        with pytest.raises(ListingRefused, match="stale"):
            ask(shop, number)
    withdraw(shop, number, reason="to be written anew", by="desk")
    with pytest.raises(ListingRefused, match="no longer published"):
        deviation_lines(shop, number)
    with pytest.raises(ListingRefused, match="nothing of it was published"):
        deviation_lines(shop, draft(shop))
    with pytest.raises(NotFound, match="no listing 99"):
        list_acceptances(shop, 99, limit=0, offset=0)


@pytest.mark.parametrize(
    ("channel", "way", "words"),
    [
        (None, "checkout", ""),
        ("own-shop", "checkout", ""),
        ("online-market", "message", "Online market takes no answer to each line: send the message"),
        ("counter", "sheet", "Own counter is a sale in person: print the sheet"),
    ],
)
def test_a_channel_without_a_place_for_answers_says_so_and_gives_a_message(shop, channel, way, words):
    number = published(shop, channel=None if channel is None else find_channel(channel))
    told = deviation_lines(shop, number)
    assert told.way == way
    assert told.cannot.startswith(words)
    assert bool(told.cannot) == bool(words)
    assert all(line.text in told.message for line in told.lines if words)
    if words:
        for attempt in (lambda: deviation_form(shop, number), lambda: answer(shop, number)):
            with pytest.raises(ListingRefused, match=words[:20]):
                attempt()
    else:
        assert told.message == ""
        assert 'type="checkbox"' in deviation_form(shop, number, buyer="B-1")
    assert answer(shop, number, way="sheet" if way == "sheet" else "message").acceptance.complete
