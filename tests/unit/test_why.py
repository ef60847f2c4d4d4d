"""Why a listing says something: every sentence leads back to facts in words."""

from __future__ import annotations

from datetime import date

import pytest

from listing_templates.composition import sentences_of
from listing_templates.facts import facts_of
from listing_templates.terms import terms_facts
from listing_templates.why import why
from listing_templates.wording import Wording
from pricing.errors import NotFound
from pricing.records.shop_terms import ShopTerms
from pricing.records.unit import Unit
from tests.builders import healthy, small_class, spotless

DAY = date(2026, 3, 3)
TERMS = ShopTerms(name="Kestrel Bench", country="de", returns_days=14, return_postage="shop", guarantee_months=0)
WIDE = {"status": "dead", "tested_on": "2026-03-03"}


def because(unit: Unit, name: str) -> tuple[str, ...]:
    words = Wording()
    sentences = sentences_of(unit, small_class(), words, terms=TERMS, on=DAY)
    facts = (*facts_of(unit, small_class()), *terms_facts(TERMS, DAY))
    return tuple(line for reason in why(sentences, name, facts, words) for line in reason.because)


@pytest.mark.parametrize(
    ("name", "fields", "line"),
    [
        ("function.dead", {"functions": healthy(camera_wide=WIDE)},
         "Ultra-wide camera: not working. Recorded by the shop on 3 March 2026."),
        ("function.impaired", {"functions": healthy(wifi={"status": "impaired", "symptom": "drops out."})},
         "Wi-Fi: works poorly (drops out). Recorded by the shop."),
        ("function.untested", {"functions": healthy() | {"wifi": "untested"}},
         "Wi-Fi: not tested. Recorded by the shop."),
        ("lock.not_checked", {"locks": {"owner_account": "free"}},
         "Network lock: not checked. Nobody recorded anything about it, so it counts as not known."),
        ("mark.seen", {"marks": [{"surface": "back_panel", "kind": "dent", "count": 2}]},
         "Back panel: 2 dents. Recorded by the shop."),
        ("look.grade", {}, "Look: A (at most two small marks, none seen at arm's length). It follows from what the "
         "shop recorded."),
        ("title.plain", {}, "Kind of goods: Talker. Recorded by the shop."),
        ("opened.by_us", {"opened": "by us"}, "Earlier opening: by us. Recorded by the shop."),
        ("data.verified", {}, "Stored data: erased and verified (built-in erase). Recorded by the shop."),
        ("terms.return_postage_shop", {}, "Postage of a return: paid by the shop. Recorded by the shop."),
    ],
)  # fmt: skip
def test_a_sentence_names_its_facts_with_their_origin(name, fields, line) -> None:
    assert line in because(spotless(**fields), name)


def test_every_sentence_of_a_listing_can_say_why() -> None:
    unit = spotless(functions=healthy(camera_wide=WIDE, microphone_video="removed"), opened="by others")
    words = Wording()
    sentences = sentences_of(unit, small_class(), words, terms=TERMS, on=DAY)
    facts = (*facts_of(unit, small_class()), *terms_facts(TERMS, DAY))
    for identifier in {sentence.id for sentence in sentences}:
        for reason in why(sentences, identifier, facts, words):
            assert reason.because, identifier


def test_an_unknown_sentence_is_refused_with_those_there_are() -> None:
    with pytest.raises(NotFound, match=r"no sentence .*nonsense.*there are: data\.verified"):
        because(spotless(), "nonsense")
