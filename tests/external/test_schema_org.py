"""Linked data of listings against the schema.org vocabulary itself (release 12.0, read offline).

Expansion alone is no check: it keeps unknown names. So each type and property is looked up, with its domain and range.
"""

from __future__ import annotations

import json
from datetime import date

import html5lib
import pytest

from data.catalogue.reader import class_names, find_class
from listing_templates.illustrations import Illustration
from listing_templates.json_ld import CONDITIONS
from listing_templates.language import language_tags
from listing_templates.render import render_listing
from listing_templates.trade_condition import condition_of
from pricing.records.shop_terms import ShopTerms
from tests.builders import healthy, small_class, spotless
from tests.counts import count
from tests.external.vocabulary import mistakes, texts, triples
from tests.random_units import random_unit

ON = date(2026, 5, 1)


def document_of(unit, device_class, language="en"):
    return json.loads(render_listing(unit, device_class, format="json-ld", on=ON, language=language).body)


@pytest.mark.parametrize(
    ("node", "mistake"),
    [
        ({"@type": "Gadget"}, "no type Gadget"),
        ({"@type": "Product", "colour": "red"}, "no property colour"),
        ({"@type": "Product", "price": "9"}, "price does not belong to Product"),
        ({"@type": "Offer", "serialNumber": "9", "additionalProperty": "x"}, "additionalProperty does not belong"),
        ({"@type": "Product", "itemCondition": "https://schema.org/InStock"}, "itemCondition holds no https"),
        ({"@type": "Product", "itemCondition": "https://schema.org/BrokenCondition"}, "itemCondition holds no https"),
        ({"@type": "Product", "offers": {"@type": "Brand"}}, "offers holds no Brand"),
        ({"@type": "Product", "brand": "Arvel"}, "brand holds no text"),
        ({"@type": "Product", "brand": 4}, "brand holds no number"),
    ],
)
def test_the_check_finds_what_is_not_in_the_vocabulary(node, mistake):
    assert any(found.startswith(mistake) for found in mistakes(node))


def test_every_type_and_property_exists_and_is_used_where_it_belongs():
    names = class_names()
    seen = set()
    for seed in range(count(200)):
        device_class = find_class(names[seed % len(names)])
        document = document_of(random_unit(device_class, seed), device_class)
        assert list(mistakes(document)) == []
        seen |= {*document, *document["offers"]}
    assert {"brand", "model", "sku", "price", "priceCurrency", "validFrom", "additionalProperty"} <= seen


TERMS = ShopTerms(name="</script>Corner", country="de", returns_days=30, return_postage="buyer", guarantee_months=6)


def test_the_shops_terms_are_said_in_words_of_the_vocabulary():
    document = json.loads(render_listing(spotless(), small_class(), format="json-ld", on=ON, terms=TERMS).body)
    assert list(mistakes(document)) == []
    assert document["offers"]["seller"]["name"] == "</script>Corner"
    assert document["offers"]["warranty"]["durationOfWarranty"]["value"] == 6
    assert document["hasMerchantReturnPolicy"]["merchantReturnDays"] == 30


def test_what_the_shop_leaves_to_the_law_is_not_said_to_be_refused():
    for terms in (ShopTerms(), ShopTerms(returns_days=0, guarantee_months=0)):
        body = render_listing(spotless(), small_class(), format="json-ld", on=ON, terms=terms).body
        assert not {"hasMerchantReturnPolicy", "warranty", "MerchantReturnNotPermitted"} & set(body.split('"'))


def test_pictures_are_named_as_the_vocabulary_names_them():
    address = "https://example.org/photos/a.jpg"
    photos = [Illustration("a" * 64, ("class",), "data:", address), Illustration("b" * 64, ("class",), "data:")]
    document = json.loads(render_listing(spotless(), small_class(), format="json-ld", illustrations=photos).body)
    assert list(mistakes(document)) == []
    assert document["image"] == [address]


def test_conditions_are_those_of_the_vocabulary_without_new():
    assert set(CONDITIONS) == {"damaged", "used", "refurbished"}
    for address in CONDITIONS.values():
        assert list(mistakes({"@type": "Offer", "itemCondition": address})) == []
        assert "New" not in address


def test_product_and_offer_state_the_condition_that_the_listing_bears_out():
    for seed in range(count(200)):
        device_class = find_class("phone")
        listing = render_listing(random_unit(device_class, seed), device_class, format="json-ld")
        document = json.loads(listing.body)
        wanted = CONDITIONS[condition_of(listing.sentences)]
        assert document["itemCondition"] == document["offers"]["itemCondition"] == wanted
        faulty = any(f["propertyID"].startswith("function:") and f["value"] in ("dead", "impaired", "removed")
                     for f in document["additionalProperty"])  # fmt: skip
        assert not faulty or wanted.endswith("DamagedCondition")


def test_every_disclosure_stands_in_the_description_and_its_facts_as_properties():
    unit = spotless(functions=healthy(wifi="dead"), parts=[{"part": "cell", "origin": "salvaged"}], opened="by others")
    listing = render_listing(unit, small_class(), format="json-ld")
    document = json.loads(listing.body)
    for sentence in listing.sentences:
        assert (sentence.text in document["description"].split("\n")) is (sentence.section != "title")
    states = {found["propertyID"]: found["value"] for found in document["additionalProperty"]}
    assert states["function:wifi"] == "dead"
    assert states["part:cell"] == "salvaged"
    assert states["opened"] == "by others"
    assert "function:camera_main" not in states


@pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated")  # rdflib's own reader of JSON-LD uses it
@pytest.mark.parametrize("language", language_tags())
def test_a_machine_reads_the_texts_in_their_language(language):
    document = document_of(spotless(functions=healthy(wifi="dead")), small_class(), language)
    assert texts(triples(document), "description") == {(document["description"], language)}


@pytest.mark.parametrize("text", ["</script><script>alert(1)</script>", "<!--", "]]>", '"},{"', "\u2028\x00\ud800"])
def test_hostile_text_stays_inside_a_script_element(text):
    unit = spotless(functions=healthy(wifi={"status": "impaired", "symptom": text + " x"}), accessories=[text + "y"],
                    attributes={"brand": text, "model": "N2", text: text}, number=text)  # fmt: skip
    body = render_listing(unit, small_class(), format="json-ld").body
    page = html5lib.parse(f'<!DOCTYPE html><title>x</title><script type="application/ld+json">{body}</script><p>end')
    scripts = list(page.iter("{http://www.w3.org/1999/xhtml}script"))
    assert len(scripts) == 1
    assert json.loads(scripts[0].text) == json.loads(body)
    assert list(mistakes(json.loads(body))) == []
