"""Terms of sale: what the settings state is said, what they leave open is a finding."""

from __future__ import annotations

from datetime import date

import pytest

from listing_templates.terms import terms_facts, terms_findings, terms_of
from listing_templates.wording import Wording
from pricing.records.shop_terms import CountryText, ShopTerms

DAY = date(2026, 3, 3)
SLIP = CountryText(
    name="slip",
    starts=date(2026, 1, 1),
    sale="distance",
    required="A slip.",
    say={"en": "Here is a slip."},
    source="a law",
)
FULL = ShopTerms(
    name="Kestrel Bench",
    country="de",
    returns_days=30,
    return_postage="shop",
    guarantee_months=12,
    required=(SLIP,),
)


def said(terms: ShopTerms, on: date | None = DAY, *, at_a_distance: bool = True) -> dict[str, str]:
    return {s.id: s.text for s in terms_of(terms, Wording(), on, at_a_distance=at_a_distance)}


def open_points(terms: ShopTerms, tag: str = "en", on: date | None = DAY) -> list[str]:
    findings = terms_findings(terms, tag, on)
    assert {(finding.kind, finding.hard) for finding in findings} <= {("not stated", False)}
    return [finding.fact for finding in findings]


def test_what_the_settings_state_is_said_in_full() -> None:
    assert list(said(FULL).items()) == [
        ("terms.seller", "Sold by: Kestrel Bench, Germany."),
        ("terms.returns", "Returns: 30 days from the day you receive it."),
        ("terms.return_postage_shop", "Postage of a return: paid by us."),
        (
            "terms.guarantee",
            "Guarantee by the shop: 12 months from the day you receive it. Your rights by law stay as they are.",
        ),
        ("terms.by_law", "Here is a slip."),
    ]
    assert open_points(FULL) == []


def test_nothing_is_said_of_what_is_not_stated_and_each_such_thing_is_a_finding() -> None:
    assert said(ShopTerms()) == {}
    assert open_points(ShopTerms()) == [
        "terms:seller", "terms:country", "terms:returns", "terms:return_postage", "terms:guarantee",
    ]  # fmt: skip


def test_no_returns_need_no_postage_and_deny_no_right() -> None:
    none = FULL.model_copy(update={"returns_days": 0, "return_postage": None, "guarantee_months": 0})
    assert "rights that the law gives you" in said(none)["terms.no_returns"]
    assert "rights by law stay" in said(none)["terms.no_guarantee"]
    assert not any("postage" in name for name in said(none))
    assert open_points(none) == []


@pytest.mark.parametrize(
    ("changed", "tag", "missing"),
    [
        ({"required": None}, "en", ["terms:by_law"]),
        ({}, "de", ["terms:by_law:slip"]),
        ({"required": (SLIP.model_copy(update={"say": {}}),)}, "en", ["terms:by_law:slip"]),
        ({"country": None}, "en", ["terms:country"]),
    ],
)
def test_a_text_of_the_law_that_cannot_be_said_is_a_finding(changed, tag, missing) -> None:
    assert open_points(FULL.model_copy(update=changed), tag) == missing


def test_a_text_of_the_law_is_said_from_its_day_on_and_only_where_it_is_asked_for() -> None:
    assert "terms.by_law" not in said(FULL, date(2025, 12, 31))
    assert "terms.by_law" not in said(FULL, None)
    assert "terms.by_law" not in said(FULL, at_a_distance=False)
    assert "terms.by_law" in said(FULL)


def test_every_sentence_rests_on_a_fact_of_the_terms() -> None:
    keys = {fact.key for fact in terms_facts(FULL, DAY)}
    assert {key for sentence in terms_of(FULL, Wording(), DAY) for key in sentence.facts} == keys
