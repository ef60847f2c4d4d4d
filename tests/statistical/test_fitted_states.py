"""The fits in the repository are those that its examples and texts give, and what is whole is seldom taken for told.

Bounds of the second look: measured by ``python -m tests.fit_second_look``, each language by the weights of the others.
"""

from __future__ import annotations

import json

import pytest

from listing_templates.honesty.second_look import TERMS, chance_of
from tests import fit_talk
from tests.fit_second_look import ENOUGH, cases_of
from tests.fit_states import EXAMPLES, corpus_rows, example_rows, fit, told_lines

CLOSE = 0.05  # weights of another processor differ in the last digit
LEAST_FOUND = 0.5  # of what the word lists miss
MOST_TAKEN = 0.06  # of what is whole, taken for told


@pytest.mark.parametrize("tag", ["en", "de", "fr", "es"])
def test_the_examples_from_texts_are_those_that_the_texts_tell(tag: str) -> None:
    assert (EXAMPLES / f"{tag}_told.tsv").read_text("utf-8") == "".join(told_lines(tag))


def test_the_states_are_those_that_the_fit_gives() -> None:
    kept = json.loads((EXAMPLES / "fr.json").read_text("utf-8"))
    fitted = fit([*example_rows("fr"), *corpus_rows("fr")])
    assert fitted["base"] == pytest.approx(kept["base"], abs=CLOSE)
    same = kept["weights"].keys() & fitted["weights"].keys()
    assert len(same) >= 0.99 * len(kept["weights"])
    for clue in same:
        assert fitted["weights"][clue] == pytest.approx(kept["weights"][clue], abs=CLOSE), clue


def test_the_second_look_finds_half_of_what_the_lists_miss_and_takes_little_that_is_whole_for_told() -> None:
    kept = json.loads((EXAMPLES / "second_look.json").read_text("utf-8"))
    weights = [kept["weights"][term] for term in TERMS]
    assert kept["enough"] == ENOUGH
    missed, whole = [], []
    for _, _, _, recorded, by_words, looks in cases_of("es"):
        told = any(chance_of(clues, kept["base"], weights) >= ENOUGH for _, clues in looks)
        if not recorded:
            whole.append(told)
        elif not by_words:
            missed.append(told)
    assert sum(missed) >= LEAST_FOUND * len(missed)
    assert sum(whole) <= MOST_TAKEN * len(whole)
    assert len(whole) > 5000


def test_the_ways_are_those_that_the_fit_gives() -> None:
    kept = json.loads((EXAMPLES / "fr_ways.json").read_text("utf-8"))
    fitted = fit_talk.fit([*fit_talk.example_rows("fr"), *fit_talk.plain_rows("fr"), *fit_talk.corpus_rows("fr")])
    assert fitted["base"] == pytest.approx(kept["base"], abs=CLOSE)
    same = kept["weights"].keys() & fitted["weights"].keys()
    assert len(same) >= 0.98 * len(kept["weights"])  # a weight at the least that is kept may fall to either side
    for clue in same:
        for way in kept["weights"][clue].keys() | fitted["weights"][clue].keys():
            one, other = (each["weights"][clue].get(way, 0.0) for each in (kept, fitted))
            assert one == pytest.approx(other, abs=CLOSE + fit_talk.LEAST_WEIGHT), (clue, way)
