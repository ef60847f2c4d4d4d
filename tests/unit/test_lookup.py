"""Phrases looked for in the words of a text."""

from __future__ import annotations

import pytest

from listing_templates.honesty.lookup import Lookup


def spelled(phrase: str, text: str, tag: str = "en", *, inflected: bool = False) -> list[str]:
    lookup = Lookup({phrase: ("it",)}, tag, inflected=inflected)
    return [text[found.start : found.end] for found in lookup.find(text)]


@pytest.mark.parametrize(
    ("phrase", "text", "tag", "met"),
    [
        ("scratch", "it is scratched", "en", ["scratched"]),
        ("tested", "a test, tests", "en", []),
        ("do not work", "it does not work", "en", ["does not work"]),
        ("do not work", "it does, not work", "en", []),
        ("kratzer", "mit zwei kratzern", "de", ["kratzern"]),
        ("~kratzer", "ein haarkratzer", "de", ["haarkratzer"]),
        ("kratzer", "ein haarkratzer", "de", []),
        ("rayé", "un dos raye, une face rayée", "fr", ["raye", "rayée"]),
        ("arañazo", "dos arañazos", "es", ["arañazos"]),
        ("ohne * kratzer", "ohne einen einzigen kratzer", "de", ["ohne einen einzigen kratzer"]),
        ("ohne * kratzer", "ohne kratzer", "de", ["ohne kratzer"]),
        ("ohne * kratzer", "ohne, kratzer", "de", []),
        ("good", "better", "en", []),
    ],
)
def test_a_base_form_meets_its_inflections_and_an_inflected_form_only_itself(
    phrase: str, text: str, tag: str, met: list[str]
) -> None:
    assert spelled(phrase, text, tag) == met


def test_a_name_is_met_in_plural_and_written_as_one_word() -> None:
    assert spelled("wide cameras", "the wide camera, a widecamera", inflected=True) == ["wide camera", "widecamera"]


def test_the_longest_phrase_wins_and_none_overlap() -> None:
    lookup = Lookup({"not": ("a",), "not work": ("b",), "work well": ("c",)}, "en")
    assert [sorted(found.means) for found in lookup.find("not work well, not")] == [["b"], ["a"]]


def test_a_match_has_to_stand_at_the_start() -> None:
    lookup = Lookup({"it": ("",)}, "en")
    assert lookup.match("it works") is not None
    assert lookup.match("so it works") is None
    assert lookup.match("") is None
