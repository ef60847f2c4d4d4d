"""What sounds like a claim and is none: wishes, the inside of a marked thing, packing; how lists and answers tell."""

from __future__ import annotations

from typing import Any

import pytest

from listing_templates.class_texts import class_texts
from listing_templates.honesty import read_text
from listing_templates.honesty.states import states_of
from listing_templates.honesty.told_as import GOOD, OPEN
from listing_templates.honesty.vocabulary import vocabulary_of
from tests.builders import healthy, small_class, spotless
from tests.fit_states import said_of, short_rows, signals_in, vocabulary_for
from tests.networks import EXAMPLES

LOCKED = {"locks": {"owner_account": "free", "network_lock": "locked"}}
TWO_UNTESTED = {"functions": healthy(wifi="untested", loudspeaker="untested")}
DEAD = {"functions": healthy(wifi="dead")}


def found(text: str, fields: dict[str, Any]) -> list[str]:
    return sorted({f"{one.kind} {one.fact}" for one in read_text(text, spotless(**fields), small_class())})


def test_who_wants_what_this_is_not_is_sent_away_and_promised_nothing() -> None:
    told = "The network lock is on: locked. "
    away = "Whoever wants one with a free network lock must pass on this one."
    assert found(told + away, LOCKED) == []
    here = "Whoever wants one with a free network lock has come to the right shop."
    assert "against fact lock:network_lock" in found(here, LOCKED)


@pytest.mark.parametrize(
    ("tag", "inside", "outside"),
    [
        ("en", "The back panel is unmarked inside.", "The back panel is unmarked."),
        ("de", "Innen ist die Rückseite sauber.", "Die Rückseite ist sauber."),
        ("es", "Por dentro la tapa trasera está limpia.", "La tapa trasera está limpia."),
    ],
)
def test_what_is_clean_inside_may_be_marked_outside(tag: str, inside: str, outside: str) -> None:
    unit = spotless(marks=[{"surface": "back_panel", "kind": "scratch", "size_mm": 4}])
    against = [
        [one.fact for one in read_text(text, unit, small_class(), language=tag) if one.kind == "against fact"]
        for text in (inside, outside)
    ]
    assert against == [[], ["mark:back_panel:scratch"]]


def test_none_of_several_tested_tells_of_each() -> None:
    assert found("The Wi-Fi and the loudspeaker: none of these has been tested.", TWO_UNTESTED) == []
    assert found("No one has ever tested the Wi-Fi or the loudspeaker.", TWO_UNTESTED) == []


def test_a_line_of_a_list_may_begin_like_a_heading() -> None:
    assert found("# The Wi-Fi is dead.\n# Everything else was tested and works.", DEAD) == []


def test_a_question_is_not_answered_by_a_hope() -> None:
    assert "missing function:wifi" in found("Does the Wi-Fi work? It ought to, as far as I would think.", DEAD)
    assert found("Does the Wi-Fi work? No, it is dead.", DEAD) == []


def test_packing_is_no_accessory() -> None:
    assert found("It comes wrapped twice, in a box with paper stuffed in all round.", {}) == []


@pytest.mark.parametrize("tag", ["en", "de", "fr", "es"])
def test_a_short_telling_is_shown_with_what_the_rules_hear_and_without(tag: str) -> None:
    rows = short_rows(tag)
    lines = (EXAMPLES / f"{tag}_short.tsv").read_text("utf-8").splitlines()
    assert {(row.label, row.sentence) for row in rows} == {tuple(line.split("\t")) for line in lines}
    assert any(not row.marks for row in rows)
    assert any("untested" in row.marks for row in rows if row.label == "open")


@pytest.mark.parametrize(
    ("tag", "told", "asked", "claimed"),
    [
        ("en", "The Wi-Fi was not tested.", "You ask whether the Wi-Fi works.", "The Wi-Fi works."),
        ("de", "Das WLAN wurde nicht getestet.", "Sie fragen, ob das WLAN funktioniert.", "Das WLAN funktioniert."),
        ("fr", "Le Wi-Fi n'a pas été testé.", "Vous demandez si le Wi-Fi fonctionne.", "Le Wi-Fi fonctionne."),
        ("es", "El wifi no se probó.", "Pregunta usted si el wifi funciona.", "El wifi funciona."),
    ],
)
def test_a_question_that_is_retold_claims_nothing(tag: str, told: str, asked: str, claimed: str) -> None:
    unit = spotless(functions=healthy(wifi="untested"))
    against = [
        [one.fact for one in read_text(f"{text} {told}", unit, small_class(), language=tag)]
        for text in (asked, claimed)
    ]
    assert against == [[], ["function:wifi"]]


def test_a_question_that_is_retold_and_answered_claims_the_answer() -> None:
    answered = "You ask whether the Wi-Fi works: the Wi-Fi works."
    assert "against fact function:wifi" in found(answered, DEAD)


@pytest.mark.parametrize(
    ("tag", "text"),
    [
        ("en", "A sound one finds the Wi-Fi at once; with this one the Wi-Fi is dead."),
        ("de", "Ein heiles funkt über WLAN, bei diesem ist das WLAN tot."),
        ("fr", "Un bon capte le Wi-Fi, sur celui-ci le Wi-Fi est mort."),
        ("es", "Uno sano se conecta al wifi; en este el wifi está muerto."),
    ],
)
def test_what_a_sound_one_does_is_no_claim_of_this_one(tag: str, text: str) -> None:
    assert read_text(text, spotless(**DEAD), small_class(), language=tag) == ()


def test_who_praises_this_one_as_a_good_one_claims_it() -> None:
    assert "against fact function:wifi" in found("The Wi-Fi works, this is a good one.", DEAD)


@pytest.mark.parametrize(
    ("tag", "of_this_one", "of_another"),
    [
        ("de", "Ein intaktes WLAN funktioniert.", "Ein intaktes findet das WLAN und funktioniert."),
        ("fr", "Un bon Wi-Fi fonctionne.", "Un bon capte le Wi-Fi et fonctionne."),
        ("es", "Una buena wifi funciona.", "Una buena tiene wifi que funciona."),
    ],
)
def test_a_thing_that_is_called_good_is_this_ones(tag: str, of_this_one: str, of_another: str) -> None:
    vocabulary = vocabulary_of(class_texts(small_class(), tag), (), tag)
    assert "works" in signals_in(of_this_one, vocabulary)
    assert "works" not in signals_in(of_another, vocabulary)


def test_a_small_a_behind_the_word_for_a_grade_is_no_grade() -> None:
    unit = spotless(marks=[{"surface": "back_panel", "kind": "scratch", "size_mm": 40, "count": 9}])
    kinds = [
        {one.kind for one in read_text(text, unit, small_class(), language="es")}
        for text in ("No ponemos nota a una marca.", "Lo vendemos con nota A.")
    ]
    assert "better than grade" not in kinds[0]
    assert "better than grade" in kinds[1]


def test_an_origin_that_is_not_known_is_no_claim_of_the_makers() -> None:
    unit = spotless(opened="by us", parts=[{"part": "cell", "origin": "unknown"}])
    told = "Appareil ouvert par nous. "
    for text in ("L'origine de la batterie nous est inconnue.", "La batterie a une origine que j'ignore."):
        assert not [one for one in read_text(told + text, unit, small_class(), language="fr") if "part:" in one.fact]


@pytest.mark.parametrize(
    ("tag", "heading"),
    [
        ("en", "Our checks did not reach these:"),
        ("de", "Dazu fehlen uns Prüfungen:"),
        ("fr", "Sans aucun relevé :"),
        ("es", "Se quedó sin mirar por falta de medios:"),
    ],
)
def test_a_list_is_read_under_its_heading_though_no_rule_knows_the_words(tag: str, heading: str) -> None:
    above, below = said_of(f"X.\n{heading}\n- Wi-Fi", vocabulary_for("function:wifi", tag))[1:]
    assert (above.heading, above.in_full, below.in_full) == ("", heading, f"{heading} - Wi-Fi")
    alone, under = states_of([below.raw, below.in_full], [below.signals] * 2)
    assert under[OPEN] > alone[OPEN]
    assert under[OPEN] > under[GOOD]
