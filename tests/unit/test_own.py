from __future__ import annotations

import pytest

from listing_templates.honesty.own import find_own
from listing_templates.honesty.visible import as_written, without_markup
from pricing.records.listing import Sentence

DEAD = Sentence(
    id="function.dead", section="faults", text="Wi-Fi: not working. No internet at home.", facts=("function:wifi",)
)


@pytest.mark.parametrize(
    "text",
    [
        "- Wi-Fi: not working. No internet at home.",
        r"* Wi\-Fi: not working\. No internet at home\.",
        "Bad news. WI–FI: Not working; no internet at home!",
        "Wi-Fi: not\nworking. No internet\nat home.",
    ],
)
def test_a_sentence_is_found_whatever_signs_surround_its_letters(text: str) -> None:
    own = find_own(as_written(text), [DEAD])
    assert own.found == (DEAD,)
    assert "working" not in own.rest
    assert len(own.rest) == len(text)


@pytest.mark.parametrize(
    "text",
    [
        "It is wrong that Wi-Fi: not working. No internet at home.",
        "Wi-Fi: not working. No internet at home is what they told me.",
        "Wi-Fi: not working.",
        "No internet at home. Wi-Fi: not working.",
        "",
    ],
)
def test_words_around_or_missing_from_it_make_it_another_sentence(text: str) -> None:
    own = find_own(as_written(text), [DEAD])
    assert own.found == ()
    assert own.rest == text


def test_one_place_serves_one_sentence_and_the_longest_first() -> None:
    short = DEAD.model_copy(update={"text": "No internet at home."})
    own = find_own(as_written(DEAD.text), [short, DEAD, DEAD])
    assert own.found == (DEAD,)
    assert len(own.missing) == 2


def test_entities_and_tags_do_not_hide_a_sentence() -> None:
    page = without_markup("<li>Wi&#45;Fi: <b>not</b> working. No internet at&nbsp;home.</li>")
    assert find_own(page, [DEAD]).found == (DEAD,)
