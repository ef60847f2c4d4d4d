"""The second look: a fact told in words that no list holds, and what is not told by likeness."""

from __future__ import annotations

import math

import pytest

from data.catalogue.reader import find_class
from data.importing.unit_json import read_unit
from listing_templates.fact import Fact
from listing_templates.honesty import read_text
from listing_templates.honesty.clues import CLUES, TERMS, chances_of, terms_of
from listing_templates.honesty.plain_words import in_own_words
from listing_templates.honesty.states import states_of
from listing_templates.honesty.told_as import BROKEN, FOREIGN, GONE, GOOD, MARKED, OPEN, STATES, TOLD_AS
from listing_templates.honesty.topics import Topics, examples_of, topic_of
from tests.fit_states import CORPUS

LANGUAGES = ("en", "de", "fr", "es")


def test_topics_are_told_apart_by_their_nouns() -> None:
    topics = Topics(["function:lid", "part:lid", "part:screen"])
    assert topics.places == {"function:lid": 0, "part:lid": 1, "part:screen": 2}
    assert {noun: columns.tolist() for noun, columns in topics.of_noun.items()} == {"function": [0], "part": [1, 2]}


@pytest.mark.parametrize(
    ("fact", "tag", "words"),
    [
        (Fact(key="function:wifi", label="Wi-Fi", state="dead"), "en", "Wi-Fi: not working"),
        (Fact(key="function:wifi", label="WLAN", state="impaired", detail="bricht ab"), "de", "WLAN: bricht ab"),
        (Fact(key="mark:screen:crack", label="écran", state="crack"), "fr", "écran: une fissure"),
        (Fact(key="part:cell", label="batería", state="third-party"), "es", "batería: pieza de otro fabricante"),
        (Fact(key="opened", label="opened", state="by us"), "en", "opened: by us"),
    ],
)
def test_a_fact_is_put_in_a_few_plain_words(fact: Fact, tag: str, words: str) -> None:
    assert in_own_words(fact, tag) == words


def test_chances_of_the_states_add_up() -> None:
    (chances,) = states_of(["The lid does not open."], [{"dead"}])
    assert math.isclose(sum(chances.values()), 1.0)
    assert set(chances) == set(STATES)
    assert states_of([], []) == ()


@pytest.mark.parametrize(
    ("tag", "sentence", "state"),
    [
        ("en", "The fan gave up the ghost.", BROKEN),
        ("en", "Nobody ever had a go at it.", OPEN),
        ("de", "Das Teil geht überhaupt nicht mehr.", BROKEN),
        ("de", "Haben wir nie ausprobiert.", OPEN),
        ("fr", "Il ne marche plus du tout.", BROKEN),
        ("fr", "Personne ne l'a jamais essayé.", OPEN),
        ("es", "Ha muerto, no da señales de vida.", BROKEN),
        ("es", "Nadie lo ha probado nunca.", OPEN),
    ],
)
def test_what_a_sentence_says_of_a_thing_is_told(tag: str, sentence: str, state: str) -> None:
    (chances,) = states_of([sentence], [()])
    assert max(chances, key=lambda one: chances[one]) == state


@pytest.mark.parametrize("tag", LANGUAGES)
def test_each_example_has_a_state_that_is_told_as_something_and_a_key_of_a_class(tag: str) -> None:
    nouns = {"function": "functions", "part": "parts", "lock": "locks", "surface": "surfaces"}
    classes = [find_class(name) for name in ("phone", "tablet", "laptop", "console", "camera", "lens")]
    keys = {f"{noun}:{thing.name}" for noun, table in nouns.items() for one in classes for thing in getattr(one, table)}
    for one in examples_of(tag):
        assert one.key in keys | {"opened", "liquid", "data", "battery_share"}, one
        assert one.key == "battery_share" or one.state in TOLD_AS, one
        assert one.sentence.strip() == one.sentence, one
        assert one.sentence, one


def test_the_state_belongs_to_the_topic_of_an_opening() -> None:
    assert topic_of("opened", "by us") == "opened:by us"
    assert topic_of("function:wifi", "dead") == "function:wifi"


def test_terms_are_the_clues_and_their_products_each_with_a_weight() -> None:
    assert terms_of([(2.0, 3.0)]).tolist() == [[2.0, 3.0, 4.0, 6.0, 9.0]]
    assert len(set(TERMS)) == len(TERMS) == terms_of([(1.0,) * len(CLUES)]).shape[1]
    assert chances_of([(0.0, 0.0)], 0.0, (1.0,) * 5).tolist() == [0.5]
    assert chances_of([(1.0, 1.0)], 0.0, (1.0,) * 5)[0] > 0.99
    assert chances_of([], 0.0, (1.0,) * 5).tolist() == []


def findings_of(name: str, text: str, language: str) -> list[str]:
    unit = read_unit(CORPUS / "units" / f"{name}.json")
    findings = read_text(text, unit, find_class(unit.device_class), language=language)
    return [finding.fact for finding in findings if finding.kind == "missing"]


@pytest.mark.parametrize(
    ("name", "language", "sentence", "fact"),
    [
        ("console_es_08", "es", "Los mandos no se dejan emparejar.", "function:controller_pairing"),
        ("tablet_de_24", "de", "Ohne angestecktes Kabel springt dieses Tablet nicht an.", "function:power_on"),
        ("tablet_es_06", "es", "La camarita delantera no se ha llegado a probar.", "function:camera_front"),
    ],
)
def test_a_fact_is_told_in_words_of_no_list_and_missing_without_them(
    name: str, language: str, sentence: str, fact: str
) -> None:
    assert fact not in findings_of(name, sentence, language)
    silent = {"es": "Se vende tal como se describe aquí.", "de": "Versand im Karton."}[language]
    assert fact in findings_of(name, silent, language)


def test_praise_and_other_things_tell_no_defect() -> None:
    assert "function:power_on" in findings_of("tablet_de_24", "Das Tablet startet tadellos.", "de")
    assert "function:power_on" in findings_of("tablet_de_24", "Der Lautsprecher ist tot.", "de")


def test_all_states_of_records_that_are_told_differently_stay_apart() -> None:
    assert {TOLD_AS[one] for one in ("dead", "removed", "untested", "third-party", "works")} == {
        BROKEN, GONE, OPEN, FOREIGN, GOOD,
    }  # fmt: skip
    assert TOLD_AS["mark"] == MARKED
