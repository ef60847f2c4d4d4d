"""A listing as linked data: a schema.org Product with its Offer, for shops and search engines to read.

The description holds every sentence that a person reads, in the page's order. Beside it each recorded specification
and each disclosed fact stands as a PropertyValue of its own: ``propertyID`` is the fact's key, ``name`` what the
listing calls it, ``value`` its state in the words of the files ("dead", "third-party"), the same in all languages.

Terms: https://schema.org, as of release 12.0, against which the tests hold every type and property.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from listing_templates.context import ListingContext
from listing_templates.disclosures import disclosed_by
from listing_templates.fact import Fact
from listing_templates.plain_text import clipped, in_script
from pricing.records.listing import Condition, Listing, Sentence
from pricing.records.shop_terms import ShopTerms

VOCABULARY = "https://schema.org/"
CONDITIONS: Mapping[Condition, str] = {
    "damaged": VOCABULARY + "DamagedCondition",
    "used": VOCABULARY + "UsedCondition",
    "refurbished": VOCABULARY + "RefurbishedCondition",
}

_LONGEST_KEY = 200


def linked_data(
    listing: Listing, facts: Sequence[Fact], context: ListingContext, terms: ShopTerms | None = None
) -> str:
    """Return the JSON document of a listing, from its sentences, all facts of its unit and the page's own lines.

    With ``terms`` it says by whom, with which returns and which guarantee; what they leave to the law is not said.
    """
    by_key = {fact.key: fact for fact in facts}
    document: dict[str, Any] = {
        "@context": ["https://schema.org", {"@language": context.language}],
        "@type": "Product",
        "name": context.title,
        "description": "\n".join(_lines(context)),
        "category": by_key["class"].label,
        "itemCondition": CONDITIONS[listing.condition],
        **_named(by_key, listing.unit_number),
        **({"image": list(listing.images)} if listing.images else {}),
        "additionalProperty": [*_specifications(facts), *_disclosed(listing.sentences, by_key)],
        "offers": _offer(listing) | ({} if terms is None else _promised(terms)),
    }
    if terms is not None and terms.returns_days:
        document["hasMerchantReturnPolicy"] = _returns(terms)
    return written(document)


def written(document: Mapping[str, Any]) -> str:
    """Return the document as JSON text that can stand inside an HTML script element without ending it."""
    return in_script(json.dumps(document, ensure_ascii=False, indent=1)) + "\n"


def described(document: str) -> str:
    """Return what a person reads in a document that ``linked_data`` wrote: its name and its description."""
    read = json.loads(document)
    return f"{read['name']}\n{read['description']}"


def _lines(context: ListingContext) -> Iterable[str]:
    yield context.warning
    for section in context.sections:
        yield from (sentence.text for sentence in section.sentences)
    if context.written:
        yield context.written


def _named(by_key: Mapping[str, Fact], number: str | None) -> dict[str, Any]:
    named: dict[str, Any] = {}
    if "attribute:brand" in by_key:
        named["brand"] = {"@type": "Brand", "name": by_key["attribute:brand"].state}
    if "attribute:model" in by_key:
        named["model"] = by_key["attribute:model"].state
    if number:
        named["sku"] = number
    return named


def _offer(listing: Listing) -> dict[str, Any]:
    offer: dict[str, Any] = {
        "@type": "Offer",
        "itemCondition": CONDITIONS[listing.condition],
        "availability": VOCABULARY + "InStock",
    }
    if listing.price is not None:
        exact = listing.price.to_minor_unit()
        offer |= {"price": f"{exact.amount:f}", "priceCurrency": exact.currency}
    if listing.on is not None:
        offer["validFrom"] = listing.on.isoformat()
    return offer


def _promised(terms: ShopTerms) -> dict[str, Any]:
    promised: dict[str, Any] = {}
    if terms.name is not None:
        promised["seller"] = {"@type": "Organization", "name": clipped(terms.name)}
    if terms.guarantee_months:
        # MON is the month in the codes of units of UN/CEFACT Recommendation 20.
        months = {"@type": "QuantitativeValue", "value": terms.guarantee_months, "unitCode": "MON"}
        promised["warranty"] = {"@type": "WarrantyPromise", "durationOfWarranty": months}
    return promised


def _returns(terms: ShopTerms) -> dict[str, Any]:
    returns: dict[str, Any] = {
        "@type": "MerchantReturnPolicy",
        "returnPolicyCategory": VOCABULARY + "MerchantReturnFiniteReturnWindow",
        "merchantReturnDays": terms.returns_days,
    }
    if terms.return_postage == "buyer":
        returns["returnFees"] = VOCABULARY + "ReturnShippingFees"
    return returns


def _specifications(facts: Iterable[Fact]) -> Iterable[dict[str, str]]:
    for fact in facts:
        if fact.noun == "attribute":
            measure = {} if fact.detail is None else {"unitText": fact.detail}
            yield _property(fact) | measure


def _disclosed(sentences: Iterable[Sentence], by_key: Mapping[str, Fact]) -> Iterable[dict[str, str]]:
    keys = dict.fromkeys(key for sentence in sentences for key in disclosed_by(sentence))
    # A combination is a sentence of its own: it has no state beside the one that it is true.
    return (_property(by_key[key]) for key in keys if key in by_key and by_key[key].noun != "combination")


def _property(fact: Fact) -> dict[str, str]:
    key = clipped(fact.key, _LONGEST_KEY)
    return {"@type": "PropertyValue", "propertyID": key, "name": fact.label, "value": fact.state}
