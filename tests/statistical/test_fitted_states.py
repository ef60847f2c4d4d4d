"""The fits in the repository are those that its examples and texts give, and what is whole is seldom taken for told.

Bounds of the second look: measured by ``python -m tests.fit_second_look``, each language by the weights of the others.
A network fitted again on another processor differs in its last digits, and those grow in the fitting: the kept one has
to say the same of nearly all sentences as one fitted here.
"""

from __future__ import annotations

import json
from collections.abc import Sequence

import numpy as np
import pytest

from listing_templates.honesty.clues import TERMS, chances_of
from listing_templates.honesty.network import Network, fitted_network
from listing_templates.honesty.spelling import SIZE
from tests.counts import count
from tests.fit_second_look import ENOUGH, cases_of
from tests.fit_states import corpus_rows, example_rows, honest_of_all, told_lines
from tests.networks import EXAMPLES, LEAST_WEIGHT, Row, fit

LEAST_SAME = 0.9  # of sentences of which two fits say the same first
LEAST_RIGHT = 0.9  # of what a kept fit was taught
LEAST_FOUND = 0.5  # of what the word lists miss
MOST_TAKEN = 0.06  # of what is whole, taken for told


def first_of(network: Network, rows: Sequence[Row]) -> np.ndarray:
    chances = network.chances([row.sentence for row in rows], [row.marks for row in rows])
    return np.array(network.labels)[chances.argmax(axis=1)]


@pytest.mark.parametrize("tag", ["en", "de", "fr", "es"])
def test_the_examples_from_texts_are_those_that_the_texts_tell(tag: str) -> None:
    every = honest_of_all(tag)
    entries = every[:: len(every) // count(len(every))]
    numbers = {entry["id"] for entry in entries}
    kept = (EXAMPLES / f"{tag}_told.tsv").read_text("utf-8").splitlines(keepends=True)
    assert [line for line in kept if line.rstrip("\n").split("\t")[-1] in numbers] == list(told_lines(tag, entries))


def test_the_states_are_those_that_a_fit_gives() -> None:
    kept = fitted_network("states")
    rows = [*example_rows("fr"), *corpus_rows("fr")]
    again = fit(rows, members=1, rounds=10)  # of one language, and sooner stopped: the kept one has learnt more
    said = first_of(kept, rows)
    assert np.mean(said == [row.label for row in rows]) >= LEAST_RIGHT
    assert np.mean(said == first_of(again, rows)) >= LEAST_SAME
    assert kept.labels == again.labels


def test_the_second_look_finds_half_of_what_the_lists_miss_and_takes_little_that_is_whole_for_told() -> None:
    kept = json.loads((EXAMPLES / "second_look.json").read_text("utf-8"))
    weights = [kept["weights"][term] for term in TERMS]
    assert kept["enough"] == ENOUGH
    missed, whole = [], []
    read = cases_of(0, ("es",), rounds=5, ways=fitted_network("ways"), most=90)
    for _, _, _, recorded, by_words, looks in read:
        told = bool(np.any(chances_of([clues for _, clues in looks], kept["base"], weights) >= ENOUGH))
        if not recorded:
            whole.append(told)
        elif not by_words:
            missed.append(told)
    assert sum(missed) >= LEAST_FOUND * len(missed)
    assert sum(whole) <= MOST_TAKEN * len(whole)
    assert len(whole) > 2500


@pytest.mark.parametrize("name", ["states", "topics", "ways"])
def test_a_kept_network_has_weights_for_all_that_it_tells_apart(name: str) -> None:
    network = fitted_network(name)
    for member in network.members:
        assert member.into.shape == (512 + len(network.marks), len(member.into_base))
        assert member.out.shape == (len(member.into_base), len(network.labels))
        assert all(np.isfinite(part).all() for part in member)


@pytest.mark.parametrize("name", ["states", "topics", "ways"])
def test_what_a_kept_network_knows_of_spelling_is_not_small(name: str) -> None:
    network = fitted_network(name)
    assert network.spelt is not None
    assert network.spelt.weights.shape == (2 * SIZE, len(network.labels)) == (2 * SIZE, len(network.spelt.base))
    assert np.abs(network.spelt.weights.data).min() >= LEAST_WEIGHT - 0.001
    assert network.spelt.weights.nnz > 100_000
