"""Texts of classes and facts in another language: all that is shown is translated, nothing that decides is."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

import pytest

from data.catalogue.reader import class_names, find_class
from listing_templates import class_texts as texts_module
from listing_templates import fact_texts
from listing_templates.class_texts import class_texts, kin_words, texts_of_class, with_texts
from listing_templates.composition import sentences_of
from listing_templates.fact_texts import translated_facts
from listing_templates.facts import facts_of
from listing_templates.wording import Wording
from tests.builders import LENS_SAY, SOUND_SAY, healthy, small_class, spotless
from tests.random_units import random_unit

BRACKETED = re.compile("⟦[^⟧]*⟧")


class Bracketing(dict[str, str]):
    """A catalogue that has every text: in brackets of its own."""

    def __contains__(self, text: object) -> bool:
        return isinstance(text, str)

    def __missing__(self, text: str) -> str:
        return f"⟦{text}⟧"

    def get(self, text: str, default: str | None = None) -> str:  # type: ignore[override]
        """Return the text in brackets, whatever it is."""
        del default
        return self[text]

    def __bool__(self) -> bool:
        return True


@pytest.fixture
def bracketing(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[], Wording]]:
    """Make every language's texts of classes stand in brackets."""
    for module in (texts_module, fact_texts):
        monkeypatch.setattr(module, "class_catalogue", lambda _: Bracketing())
    monkeypatch.setattr("listing_templates.wording.class_catalogue", lambda _: Bracketing())
    return Wording


def test_every_text_is_replaced_and_no_name() -> None:
    changed = with_texts(small_class(), lambda text, _: f"⟦{text}⟧")
    wide = changed.functions_by_name["camera_wide"]
    assert (wide.title, wide.kin) == ("⟦ultra-wide camera⟧", "camera")
    assert wide.consequence.removed == "⟦No true wide pictures.⟧"
    assert changed.functions_by_name["loudspeaker"].symptoms == ("⟦rattles⟧", "⟦quiet⟧")
    assert changed.locks[0].means == "⟦Only the owner can free it.⟧"
    assert [combination.say for combination in changed.combinations][:2] == [f"⟦{SOUND_SAY}⟧", f"⟦{LENS_SAY}⟧"]
    assert changed.grade_rule.words("D") == "⟦heavy marks, or something cracked or missing⟧"
    assert [part.name for part in changed.parts] == [part.name for part in small_class().parts]


def test_a_class_that_has_worked_out_its_tables_does_not_hand_them_on() -> None:
    device_class = small_class()
    assert device_class.functions_by_name["wifi"].title == "Wi-Fi"
    changed = with_texts(device_class, lambda text, _: text.upper())
    assert changed.functions_by_name["wifi"].title == "WI-FI"


def test_english_is_the_class_itself() -> None:
    device_class = small_class()
    assert class_texts(device_class, "en") is device_class


def test_a_text_that_no_catalogue_has_stays_as_written() -> None:
    wide = class_texts(small_class(), "fr").functions_by_name["camera_wide"]
    assert wide.consequence.removed == "No true wide pictures."


@pytest.mark.parametrize("name", class_names())
def test_a_listing_shows_no_text_of_the_class_that_was_not_translated(name: str, bracketing) -> None:
    device_class = find_class(name)
    texts = {text for text, _ in texts_of_class(device_class) if " " in text}
    assert len(texts) > 20
    shown = 0
    for seed in range(5):
        for sentence in sentences_of(random_unit(device_class, seed), device_class, bracketing()):
            shown += len(BRACKETED.findall(sentence.text))
            rest = BRACKETED.sub("", sentence.text).lower()
            left = [text for text in texts if text.lower() in rest]
            assert not left, (sentence.id, left)
    assert shown > 100


def test_codes_of_facts_are_never_translated(bracketing) -> None:
    del bracketing
    unit = spotless(functions=healthy(camera_wide={"status": "removed", "left_in_place": True}, wifi="untested"))
    facts = facts_of(unit, small_class())
    translated = translated_facts(facts, "fr")
    assert [(fact.key, fact.state) for fact in facts] == [(fact.key, fact.state) for fact in translated]
    details = {fact.key: fact.detail for fact in translated}
    assert (details["function:camera_wide"], details["function:wifi"]) == ("left in place", "told")


def test_what_was_seen_on_the_unit_is_said_in_the_language_too(bracketing) -> None:
    unit = spotless(functions=healthy(camera_wide="removed"), observed=[LENS_SAY])
    said = [s.text for s in sentences_of(unit, small_class(), bracketing()) if s.id == "combination.observed"]
    assert said == [f"Seen on this unit: ⟦{LENS_SAY}⟧."]


def test_kin_is_written_with_blanks() -> None:
    assert kin_words("hand_held") == "hand held"
