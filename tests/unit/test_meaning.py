"""Sentences as numbers: what means the same is near, in the same language and in another."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import sparse

from listing_templates.honesty.meaning import SIZE, vectors_of
from listing_templates.honesty.network import VECTOR_COUNTS, Member, Network
from listing_templates.honesty.sentences import pieces_of
from listing_templates.honesty.spelling import Spelt, runs_of
from listing_templates.honesty.topics import NOTHING, chances_of_topics


def test_each_sentence_is_a_row_of_length_one_and_the_same_when_asked_again() -> None:
    first = vectors_of(["The lid is bent.", "Nobody tried the fan."])
    assert first.shape == (2, SIZE)
    assert np.allclose(np.linalg.norm(first, axis=1), 1, atol=1e-4)
    assert np.array_equal(vectors_of(["Nobody tried the fan.", "The lid is bent."])[::-1], first)
    assert vectors_of([]).shape == (0, SIZE)


def test_the_same_in_four_languages_is_nearer_than_another_thing_in_one() -> None:
    same = ["The camera does not work.", "Die Kamera funktioniert nicht.", "L'appareil photo ne marche pas.",
            "La cámara no funciona."]  # fmt: skip
    vectors = vectors_of([*same, "The box has a dent in one corner."])
    near = vectors @ vectors.T
    assert near[0, 1:4].min() > near[0, 4] + 0.2


def test_a_network_adds_what_stands_in_its_weights() -> None:
    into = np.zeros((SIZE + 1, 1), dtype=np.float32)
    into[SIZE, 0] = 2.0
    member = Member(into, np.zeros(1, np.float32), np.array([[1.0, 0.0]], np.float32), np.zeros(2, np.float32))
    network = Network(("a", "b"), ("!dead",), (member,))
    chances = network.chances(["x", "y"], [{"!dead"}, {"!unknown"}])
    assert chances[0, 0] == pytest.approx(1 / (1 + np.exp(-2.0)))
    assert chances[1].tolist() == [0.5, 0.5]
    assert network.inputs(np.ones((2, SIZE), dtype=np.float32), None)[0, 0] == VECTOR_COUNTS


def test_spelling_counts_for_one_half_of_a_network() -> None:
    zero = np.zeros((SIZE, 1), np.float32)
    member = Member(zero, np.zeros(1, np.float32), np.zeros((1, 2), np.float32), np.zeros(2, np.float32))
    runs = runs_of(["as is"])
    weights = np.zeros((runs.shape[1], 2), np.float32)
    weights[runs.indices[0], 0] = 9.0 / runs.data[0]
    network = Network(("a", "b"), (), (member,), Spelt(sparse.csr_matrix(weights), np.zeros(2, np.float32)))
    high = 1 / (1 + np.exp(-9.0))
    assert network.chances(["as is"])[0, 0] == pytest.approx((0.5 + high / (high + 0.5)) / 2)
    assert network.chances(["other"])[0].tolist() == [0.5, 0.5]


def test_words_and_letters_of_a_sentence_each_have_length_1() -> None:
    runs = runs_of(["Tel quel.", "élan élan", "?"]).toarray()
    lengths = np.hypot(*(np.linalg.norm(half, axis=1) for half in np.hsplit(runs, 2)))
    assert lengths[:2] == pytest.approx([np.sqrt(2)] * 2)
    assert np.array_equal(runs_of(["élan"]).toarray(), runs_of(["Elan"]).toarray())
    assert runs_of([]).shape == (0, runs.shape[1])


def test_topics_share_their_chance_among_those_of_the_class_and_none() -> None:
    zero = np.zeros((SIZE, 1), np.float32)
    member = Member(zero, np.zeros(1, np.float32), np.zeros((1, 3), np.float32), np.zeros(3, np.float32))
    network = Network(("function:fan", "function:lid", NOTHING), (), (member,))
    chances, alone = chances_of_topics(["x"], ["function:lid", "function:unheard"], network)
    assert chances.tolist() == [[0.5, 0.0]]
    assert alone.tolist() == [[0.0, 0.0]]


def test_a_topic_by_itself_has_the_chance_that_the_spelling_gives_it() -> None:
    zero = np.zeros((SIZE, 1), np.float32)
    member = Member(zero, np.zeros(1, np.float32), np.zeros((1, 3), np.float32), np.zeros(3, np.float32))
    runs = runs_of(["fan lid"])
    weights = np.zeros((runs.shape[1], 3), np.float32)
    weights[runs.indices[0], :2] = 4.0 / runs.data[0]
    spelt = Spelt(sparse.csr_matrix(weights), np.zeros(3, np.float32))
    network = Network(("function:fan", "function:lid", NOTHING), (), (member,), spelt)
    _, alone = chances_of_topics(["fan lid"], ["function:fan", "function:lid"], network)
    assert alone.tolist() == [[pytest.approx(1 / (1 + np.exp(-4.0)))] * 2]


def test_a_sentence_is_cut_into_what_stands_between_its_commas() -> None:
    assert pieces_of("Nobody tried these four: the HDMI socket, the battery door, and it") == (
        "Nobody tried these four", "the HDMI socket", "the battery door",
    )  # fmt: skip
    assert pieces_of("The fan is dead") == ()
    assert pieces_of("1,000 GB of room") == ()
