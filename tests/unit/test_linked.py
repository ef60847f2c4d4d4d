"""Linked data is read as a person would: name and description, each sign with its place in the document."""

from __future__ import annotations

import json

import pytest

from listing_templates.honesty import read_text
from listing_templates.honesty.linked import as_linked_data
from listing_templates.json_ld import described, in_script
from listing_templates.render import render_listing
from tests.builders import healthy, small_class, spotless


def document(**fields):
    return json.dumps({"@context": "https://schema.org", **fields})


@pytest.mark.parametrize(
    "text",
    ["", "The camera works.", "{}", '{"@context": ', '{"@context": 1, "description": 4}', "[1]", '{"a": "@context"'],
)
def test_other_texts_are_no_linked_data(text):
    assert as_linked_data(text) is None


def test_each_sign_knows_its_place():
    text = in_script(json.dumps({"@context": "x", "count": 9, "name": 'a"<é', "offers": {"name": "no"},
                                 "description": "b\n\U0001f4f1 \\u"}))  # fmt: skip
    seen = as_linked_data(text)
    assert seen.text == 'a"<é\nb\n\U0001f4f1 \\u\n'
    written = {seen.text[i]: text[seen.places[i] : seen.ends[i]] for i in range(len(seen.text) - 1)}
    assert written['"'] == '\\"'
    assert written["<"] == "\\u003c"
    assert written["é"] == "\\u00e9"
    assert written["\U0001f4f1"] == "\\ud83d\\udcf1"
    assert written["\\"] == "\\\\"
    assert written["b"] == "b"


def test_our_own_document_has_no_finding_and_reads_as_it_describes():
    unit = spotless(functions=healthy(wifi="dead"), opened="by others", accessories=["<b>", 'a "case"'])
    body = render_listing(unit, small_class(), format="json-ld").body
    assert read_text(body, unit, small_class()) == ()
    assert as_linked_data(body).text == described(body) + "\n"


def test_a_disclosure_taken_out_of_the_description_is_missing():
    unit = spotless(functions=healthy(wifi="dead"))
    listing = render_listing(unit, small_class(), format="json-ld")
    told = next(sentence.text for sentence in listing.sentences if sentence.disclosure)
    findings = read_text(listing.body.replace(told, "All is well."), unit, small_class())
    assert ("missing", "function:wifi") in {(finding.kind, finding.fact) for finding in findings}


def test_a_claim_against_the_record_is_found_where_it_stands():
    unit = spotless(functions=healthy(wifi="dead"))
    text = document(name="Talker", description="A good unit.\nThe Wi-Fi works.")
    (found,) = [finding for finding in read_text(text, unit, small_class()) if finding.kind == "against fact"]
    assert found.fact == "function:wifi"
    assert "Wi-Fi works" in text[found.start : found.end]
