"""The terms of sale as facts, sentences and findings: what the shop's settings say, and what its law asks for.

Keys of facts: ``terms:seller``, ``terms:returns``, ``terms:return_postage``, ``terms:guarantee`` and
``terms:by_law:NAME``. What the settings leave open is no sentence: it is a finding, to be mended before publishing.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from listing_templates.fact import Fact
from listing_templates.plain_text import clipped
from listing_templates.wording import Wording
from pricing.records.finding import Finding
from pricing.records.listing import Sentence
from pricing.records.shop_terms import ADVISER, CountryText, ShopTerms, texts_in_force

_MISSING = {
    "terms:seller": "State the shop's name in its settings: buyers must know who sells.",
    "terms:country": "State the shop's country in its settings: its law decides which texts a listing needs.",
    "terms:returns": "State in the shop's settings in how many days a unit may come back; 0: none beyond the law.",
    "terms:return_postage": "State in the shop's settings who pays the postage of a return.",
    "terms:guarantee": "State the months of the shop's own guarantee in its settings; 0: none beyond the law.",
}


def terms_facts(terms: ShopTerms, on: date | None, *, at_a_distance: bool = True) -> tuple[Fact, ...]:
    """Return the terms as facts; ``on`` is the day of the listing, without it no text of the law is known."""
    stated = {
        "seller": None if terms.name is None else clipped(terms.name, 200) or None,
        "returns": None if terms.returns_days is None else str(terms.returns_days),
        "return_postage": terms.return_postage if terms.returns_days else None,
        "guarantee": None if terms.guarantee_months is None else str(terms.guarantee_months),
    }
    facts = [
        Fact(key=f"terms:{name}", label=name.replace("_", " "), state=value, way=terms.country)
        for name, value in stated.items()
        if value is not None
    ]
    asked = [
        Fact(key=f"terms:by_law:{text.name}", label="law", state=text.required, way=text.source, source="computed")
        for text in _asked_for(terms, on, at_a_distance)
    ]
    return (*facts, *asked)


def terms_of(
    terms: ShopTerms, wording: Wording, on: date | None = None, *, at_a_distance: bool = True
) -> Iterable[Sentence]:
    """Yield the sentences on seller, returns, guarantee, and the texts that the law asks for on this day."""
    if terms.name is not None and (name := clipped(terms.name, 200)):
        country = None if terms.country is None else wording.country(terms.country)
        pattern = "terms.seller_alone" if country is None else "terms.seller"
        said = wording.sentence(pattern, name=name.rstrip("."), country=country or "")
        yield _sentence(pattern, "seller", said)
    if terms.returns_days == 0:
        yield _sentence("terms.no_returns", "returns", wording.sentence("terms.no_returns"))
    elif terms.returns_days is not None:
        yield _sentence("terms.returns", "returns", wording.sentence("terms.returns", count=terms.returns_days))
        if terms.return_postage is not None:
            pattern = f"terms.return_postage_{terms.return_postage}"
            yield _sentence(pattern, "return_postage", wording.sentence(pattern))
    if terms.guarantee_months == 0:
        yield _sentence("terms.no_guarantee", "guarantee", wording.sentence("terms.no_guarantee"))
    elif terms.guarantee_months is not None:
        said = wording.sentence("terms.guarantee", count=terms.guarantee_months)
        yield _sentence("terms.guarantee", "guarantee", said)
    for text in _asked_for(terms, on, at_a_distance):
        if said := clipped(text.say.get(wording.language.tag, "")):
            yield _sentence("terms.by_law", f"by_law:{text.name}", wording.sentence("terms.by_law", say=said))


def terms_findings(
    terms: ShopTerms, tag: str, on: date | None, *, at_a_distance: bool = True
) -> tuple[Finding, ...]:
    """Return what the settings do not state, and what the law asks for that no sentence of a listing says.

    All are soft: what the law asks is for an adviser to decide, and the shop may have an answer.
    """
    stated = {fact.key for fact in terms_facts(terms, on, at_a_distance=at_a_distance)}
    if terms.country is not None:
        stated.add("terms:country")
    if terms.returns_days == 0:
        stated.add("terms:return_postage")
    missing = [(key, advice) for key, advice in _MISSING.items() if key not in stated]
    if terms.country is not None and terms.required is None:
        missing.append(("terms:by_law", f"No texts are known that the law of {terms.country} asks for. {ADVISER}"))
    for text in _asked_for(terms, on, at_a_distance):
        if not text.say.get(tag):
            advice = f"{text.required} No sentence of this listing says it. {text.source}. {ADVISER}"
            missing.append((f"terms:by_law:{text.name}", advice))
    return tuple(
        Finding(kind="not stated", start=0, end=0, fact=key, suggestion=advice, hard=False) for key, advice in missing
    )


def _asked_for(terms: ShopTerms, on: date | None, at_a_distance: bool) -> tuple[CountryText, ...]:
    if on is None or terms.required is None:
        return ()
    return tuple(text for text in texts_in_force(terms.required, on) if at_a_distance or text.sale == "any")


def _sentence(pattern: str, name: str, text: str) -> Sentence:
    return Sentence(id=pattern, section="terms", text=text, facts=(f"terms:{name}",))
