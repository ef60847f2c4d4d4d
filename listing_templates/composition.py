"""All sentences of a listing in reading order: what cannot be seen from outside comes before what can."""

from __future__ import annotations

from datetime import date

from listing_templates.buyers import buyers_of
from listing_templates.class_texts import class_texts
from listing_templates.descriptions import included_of, look_of, price_of, summary_of, title_of, works_of
from listing_templates.disclosures import disclosures_of
from listing_templates.fact_texts import facts_in
from listing_templates.recent import Recent
from listing_templates.terms import terms_of
from listing_templates.wording import Wording
from pricing.records.device_class import DeviceClass
from pricing.records.listing import Section, Sentence
from pricing.records.money import Money
from pricing.records.shop_terms import ShopTerms
from pricing.records.unit import Unit

READING_ORDER: tuple[Section, ...] = (
    "title", "summary", "first", "locks", "parts", "faults", "untested", "look", "buyers", "works", "included", "price",
    "terms",
)  # fmt: skip

_PLACE = {section: number for number, section in enumerate(READING_ORDER)}
_RECENT: Recent[tuple[Sentence, ...]] = Recent()


def sentences_of(
    unit: Unit,
    device_class: DeviceClass,
    wording: Wording,
    price: Money | None = None,
    *,
    terms: ShopTerms | None = None,
    on: date | None = None,
) -> tuple[Sentence, ...]:
    """Return every sentence of the unit's listing, the title first.

    ``price`` is the asking price; without it the unit's own ask is used, if any. ``terms`` are the shop's, ``on`` is
    the day on which the texts that its law asks for must be in force.
    """
    tag = wording.language.tag
    return _RECENT.get(
        (unit, device_class, terms), (tag, price, on), lambda: _composed(unit, device_class, wording, price, terms, on)
    )


def _composed(
    unit: Unit,
    device_class: DeviceClass,
    wording: Wording,
    price: Money | None,
    terms: ShopTerms | None,
    on: date | None,
) -> tuple[Sentence, ...]:
    tag = wording.language.tag
    facts = facts_in(unit, device_class, tag)
    sentences = (
        title_of(facts, wording),
        *summary_of(facts, wording),
        *disclosures_of(facts, class_texts(device_class, tag), wording),
        *look_of(facts, wording),
        *buyers_of(facts, wording),
        *works_of(facts, wording),
        *included_of(facts, wording),
        *price_of(facts, price or unit.ask, wording),
        *(() if terms is None else terms_of(terms, wording, on)),
    )
    return tuple(sorted(sentences, key=lambda sentence: (_PLACE[sentence.section], not sentence.hidden)))
