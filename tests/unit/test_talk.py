"""Talking round a fault: a phrase counts in a sentence that misleads, not in an honest one that uses its words."""

from __future__ import annotations

import math

import pytest

from data.catalogue.reader import find_class
from listing_templates.class_texts import class_texts
from listing_templates.honesty.said import said_in
from listing_templates.honesty.statements import statements_of
from listing_templates.honesty.talk import LIKELY, PLAIN, fitted_talk, talk_from
from listing_templates.honesty.visible import as_written
from listing_templates.honesty.vocabulary import vocabulary_of
from listing_templates.honesty.ways import RULES, TAUGHT, Talked, talk_in

LANGUAGES = ("en", "de", "fr", "es")


def talked(sentence: str, tag: str, *, learnt: bool = True) -> Talked:
    vocabulary = vocabulary_of(class_texts(find_class("laptop"), tag), (), tag)
    seen = as_written(sentence)
    (only,) = talk_in(said_in(statements_of(seen, seen.text, vocabulary)), vocabulary, learnt=learnt)
    return only


@pytest.mark.parametrize("tag", LANGUAGES)
def test_every_way_that_has_examples_has_a_rule(tag: str) -> None:
    talk = fitted_talk(tag)
    assert talk is not None
    assert set(talk.fit.labels) - {PLAIN} <= set(RULES)
    assert set(RULES) >= TAUGHT
    assert math.isclose(sum(talk.of("The fan should be fine.", ["hedge"], []).values()), 1.0)


@pytest.mark.parametrize(
    ("tag", "misleads", "honest"),
    [
        ("en", "The webcam should work fine, no reason to doubt it.", "You should reckon with a dead webcam."),
        ("de", "Die Webcam sollte eigentlich funktionieren.", "Wer eine Webcam braucht, sollte ein anderes nehmen."),
        ("fr", "La webcam devrait marcher sans problème.", "Vous devriez prévoir une webcam externe."),
        ("es", "La cámara debería funcionar sin problema.", "No debería comprarlo quien necesite la cámara."),
    ],
)
def test_a_hedge_is_likelier_than_advice_in_the_same_words(tag: str, misleads: str, honest: str) -> None:
    assert talked(misleads, tag).likely > 0.5
    assert talked(honest, tag).likely < talked(misleads, tag).likely / 2


def test_without_examples_the_phrases_decide() -> None:
    found = talked("The webcam should work fine.", "en", learnt=False)
    assert [phrase.way for phrase in found.phrases] == ["hedge"]
    assert found.likely == 1.0 > LIKELY
    assert fitted_talk("nl") is None


def test_weights_that_are_left_out_are_nought() -> None:
    talk = talk_from({"hedge": 0.0, PLAIN: 0.0}, {"?hedge": {"hedge": 3.0}})
    assert talk.of("x", ["hedge"], [])["hedge"] > 0.9
    assert talk.of("x", [], [])["hedge"] == 0.5
