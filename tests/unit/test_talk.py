"""Talking round a fault: a phrase counts in a sentence that misleads, not in an honest one that uses its words."""

from __future__ import annotations

import math

import pytest

from data.catalogue.reader import find_class
from listing_templates.class_texts import class_texts
from listing_templates.honesty.network import fitted_network
from listing_templates.honesty.said import said_in
from listing_templates.honesty.statements import statements_of
from listing_templates.honesty.talk import LIKELY, PLAIN, SURE, marks_of, ways_of
from listing_templates.honesty.visible import as_written
from listing_templates.honesty.vocabulary import vocabulary_of
from listing_templates.honesty.ways import RULES, TAUGHT, Talked, talk_in

LANGUAGES = ("en", "de", "fr", "es")


def talked(sentence: str, tag: str, *, learnt: bool = True) -> Talked:
    vocabulary = vocabulary_of(class_texts(find_class("laptop"), tag), (), tag)
    seen = as_written(sentence)
    (only,) = talk_in(said_in(statements_of(seen, seen.text, vocabulary)), vocabulary, learnt=learnt)
    return only


def test_every_way_that_has_examples_has_a_rule() -> None:
    labels = set(fitted_network("ways").labels)
    assert labels - {PLAIN} <= set(RULES)
    assert set(RULES) >= TAUGHT
    (chances,) = ways_of(["The fan should be fine."], [marks_of(["hedge"], [])])
    assert set(chances) == labels
    assert math.isclose(sum(chances.values()), 1.0)


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
    assert talked(misleads, tag).likely > SURE
    assert talked(honest, tag).likely < talked(misleads, tag).likely / 2


def test_without_examples_the_phrases_decide() -> None:
    found = talked("The webcam should work fine.", "en", learnt=False)
    assert [phrase.way for phrase in found.phrases] == ["hedge"]
    assert found.likely == 1.0 > LIKELY


@pytest.mark.parametrize(
    ("tag", "sentence", "way"),
    [
        ("en", "Once the parcel is yours there is no road back to me, whatever comes to light.", "rights"),
        ("de", "Ist das Paket erst bei Ihnen, gibt es keinen Weg zu mir zurück, was auch immer auftaucht.", "rights"),
        ("fr", "Une fois le colis chez vous, aucun chemin ne revient vers moi, quoi qu'il apparaisse.", "rights"),
        ("es", "Una vez que el paquete sea suyo no hay camino de vuelta, aparezca lo que aparezca.", "rights"),
    ],
)
def test_a_way_is_known_without_any_of_its_phrases(tag: str, sentence: str, way: str) -> None:
    found = talked(sentence, tag)
    assert found.likeliest == way
    plain = talked({"en": "You can send it back within 14 days.", "de": "Rückgabe ist 14 Tage lang möglich.",
                    "fr": "Vous pouvez le renvoyer sous 14 jours.", "es": "Puede devolverlo en 14 días."}[tag], tag)
    assert plain.chances[way] < found.chances[way] / 5


def test_a_piece_of_a_sentence_is_asked_too() -> None:
    found = talked("The lid is cracked, and it should work fine again with a new cable, no doubt about it.", "en")
    assert found.of_pieces
    assert not talked("The lid is cracked.", "en").of_pieces
