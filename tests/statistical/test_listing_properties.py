"""What must hold of every listing: random units of all packaged classes and a small one, all languages and formats."""

from __future__ import annotations

import re
from datetime import date, timedelta
from functools import cache
from random import Random
from typing import Any

import pytest

from data.catalogue.country_text_reader import find_country_texts
from data.catalogue.reader import class_names, find_class
from listing_templates.class_texts import class_texts
from listing_templates.composition import sentences_of
from listing_templates.disclosures import disclosed_by
from listing_templates.fact_texts import facts_in
from listing_templates.honesty import read_text
from listing_templates.language import language_tags
from listing_templates.render import render_listing, shown
from listing_templates.terms import terms_facts
from listing_templates.wording import Wording
from pricing.records.device_class import DeviceClass
from pricing.records.listing import FORMATS, Format, Listing
from pricing.records.shop_terms import ShopTerms
from pricing.records.unit import Unit, is_fitted, status_now, surfaces_of
from tests.builders import small_class
from tests.counts import count
from tests.random_units import random_unit

LANGUAGES = language_tags()
PAGES: tuple[Format, ...] = ("text", "markdown", "html")
UNITS = count(2000)
WRITTEN = date(2026, 5, 1)
TERMS = ShopTerms(
    name="Kestrel Bench",
    country="de",
    returns_days=30,
    return_postage="buyer",
    guarantee_months=6,
    required=find_country_texts("de").texts,
)


@cache
def classes() -> tuple[DeviceClass, ...]:
    return (small_class(), *(find_class(name) for name in class_names()))


@cache
def units() -> list[tuple[DeviceClass, Unit]]:
    return [
        (device_class, random_unit(device_class, seed))
        for seed in range(UNITS)
        for device_class in [classes()[seed % len(classes())]]
    ]


def written(unit: Unit, device_class: DeviceClass, tag: str, format: Format) -> Listing:
    return render_listing(unit, device_class, format=format, language=tag, on=WRITTEN, terms=TERMS)


def some_language(number: int) -> str:
    return LANGUAGES[number % len(LANGUAGES)]


def faults_of(unit: Unit, device_class: DeviceClass) -> set[str]:
    """Return the keys of all that a listing has to disclose, from the record alone."""
    wanted = set()
    for function in device_class.functions:
        if is_fitted(function, unit) and status_now(function, unit, device_class) != "works":
            wanted.add(f"function:{function.name}")
    looked_at = {*unit.looked_at, *(mark.surface for mark in unit.marks)} - set(unit.covered)
    wanted |= {f"mark:{mark.surface}:{mark.kind}" for mark in unit.marks}
    wanted |= {f"surface:{s.name}" for s in surfaces_of(unit, device_class) if s.name not in looked_at}
    wanted |= {f"part:{fitted.part}" for fitted in unit.parts if fitted.origin in ("third-party", "salvaged")}
    for lock in device_class.locks:
        check = unit.locks.get(lock.name)
        if check is None or check.state != "free":
            wanted.add(f"lock:{lock.name}")
    if unit.opened in ("by us", "by others", "not known") or unit.opened_on is not None:
        wanted.add("opened")
    no_indicator = "liquid indicator" in device_class.without and unit.liquid_indicator == "not looked at"
    no_data = "stored data" in device_class.without and unit.data_erased is None
    if unit.liquid_indicator != "white" and not no_indicator:
        wanted.add("liquid")
    if (unit.data_erased is None or not unit.data_verified) and not no_data:
        wanted.add("data")
    if unit.battery_share is not None:
        wanted.add("battery_share")
    return wanted


def label_of(key: str, device_class: DeviceClass) -> str | None:
    noun, _, name = key.partition(":")
    things: dict[str, Any] = {
        "function": device_class.functions_by_name,
        "lock": device_class.locks_by_name,
        "part": device_class.parts_by_name,
        "surface": device_class.surfaces_by_name,
        "mark": device_class.surfaces_by_name,
    }
    return things[noun][name.split(":")[0]].title if noun in things else None


@pytest.mark.parametrize("tag", LANGUAGES)
def test_every_defect_is_disclosed_in_every_format(tag: str) -> None:
    for device_class, unit in units():
        worded = class_texts(device_class, tag)
        for format in FORMATS:
            listing = written(unit, device_class, tag, format)
            stands = [s for s in listing.sentences if s.disclosure and shown(s.text, format) in listing.body]
            disclosed = {key: sentence for sentence in stands for key in disclosed_by(sentence)}
            for key in faults_of(unit, device_class):
                found = [name for name in disclosed if name == key or name.startswith(key + ":")]
                assert found, (device_class.name, unit.number, format, key)
                label = label_of(key, worded)
                assert label is None or label.lower() in disclosed[found[0]].text.lower()


@pytest.mark.parametrize("tag", LANGUAGES)
def test_every_sentence_rests_on_facts_that_exist(tag: str) -> None:
    of_sale = {fact.key for fact in terms_facts(TERMS, WRITTEN)}
    for device_class, unit in units():
        keys = [fact.key for fact in facts_in(unit, device_class, tag)]
        assert len(keys) == len(set(keys))
        for sentence in sentences_of(unit, device_class, Wording(tag), terms=TERMS, on=WRITTEN):
            assert sentence.text
            assert sentence.facts
            assert set(sentence.facts) <= {*keys, *of_sale}, sentence


@pytest.mark.parametrize("tag", LANGUAGES)
def test_every_language_says_the_same_of_the_same_facts(tag: str) -> None:
    for device_class, unit in units():
        english, other = (sentences_of(unit, device_class, Wording(name)) for name in ("en", tag))
        assert [(s.id, s.facts) for s in english] == [(s.id, s.facts) for s in other], unit.number


@pytest.mark.parametrize("tag", LANGUAGES)
def test_deleting_any_one_disclosure_is_found_every_time(tag: str) -> None:
    deleted = 0
    for number, (device_class, unit) in enumerate(units()):
        format = PAGES[number % len(PAGES)]
        listing = written(unit, device_class, tag, format)
        disclosures = [sentence for sentence in listing.sentences if sentence.disclosure]
        if not disclosures:
            continue
        sentence = Random(f"{number} {format}").choice(disclosures)
        without = delete_last(listing.body, shown(sentence.text, format))
        missed = {finding.fact for finding in read_text(without, unit, device_class, language=tag)}
        assert set(disclosed_by(sentence)) <= missed, (device_class.name, unit.number, format, sentence)
        deleted += 1
    assert deleted >= UNITS * 9 // 10


def delete_last(body: str, text: str) -> str:
    start = body.rindex(text)
    return body[:start] + body[start + len(text) :]


def test_deleting_each_disclosure_of_some_listings_is_found_in_all_formats() -> None:
    for device_class in classes():
        unit = random_unit(device_class, 4711)
        for format in PAGES:
            listing = render_listing(unit, device_class, format=format, on=WRITTEN)
            for sentence in listing.sentences:
                if sentence.disclosure:
                    without = delete_last(listing.body, shown(sentence.text, format))
                    missed = {f.fact for f in read_text(without, unit, device_class) if f.kind == "missing"}
                    assert set(disclosed_by(sentence)) <= missed, (device_class.name, format, sentence)


def test_deleting_one_label_from_a_list_of_untested_functions_is_found() -> None:
    for device_class, unit in units():
        listing = render_listing(unit, device_class, format="text")
        lists = [s for s in listing.sentences if s.id == "function.untested" and len(s.facts) > 2]
        for sentence in lists[:1]:
            function = device_class.functions_by_name[sentence.facts[-1].partition(":")[2]]
            shorter = sentence.text.replace(function.title, "", 1)
            findings = read_text(listing.body.replace(sentence.text, shorter), unit, device_class)
            assert sentence.facts[-1] in {finding.fact for finding in findings}, (device_class.name, sentence)


def test_an_opening_after_the_tests_removes_every_works_that_it_touches() -> None:
    for device_class, unit in units():
        days = [test.tested_on for test in unit.functions.values() if test.tested_on is not None]
        day = max(days, default=WRITTEN) + timedelta(days=1)
        opened = unit.model_copy(update={"opened": "by us", "opened_on": day, "opened_parts": ()})
        touched = {name for part in device_class.parts for name in part.touches}
        sentences = sentences_of(opened, device_class, Wording())
        working = {key for s in sentences if s.id.startswith("works.") for key in s.facts}
        assert not working & {f"function:{name}" for name in touched}, (device_class.name, unit.number)


def test_our_own_listing_has_no_finding_in_any_format() -> None:
    for number, (device_class, unit) in enumerate(units()):
        tag, format = some_language(number), FORMATS[number // len(LANGUAGES) % len(FORMATS)]
        listing = written(unit, device_class, tag, format)
        findings = read_text(listing.body, unit, device_class, language=tag)
        assert findings == (), (device_class.name, unit.number, tag, format, findings)


def test_a_fault_that_cannot_be_seen_is_said_before_any_that_can() -> None:
    for device_class, unit in units():
        hidden = {f"function:{f.name}" for f in device_class.functions if f.hidden}
        faults = [
            s.facts[0] in hidden
            for s in sentences_of(unit, device_class, Wording())
            if s.id in ("function.dead", "function.impaired", "function.removed", "function.left")
        ]
        assert faults == sorted(faults, reverse=True), (device_class.name, unit.number)


HOSTILE = (
    "<script>alert(1)</script>",
    "{{7*7}}{% for x in y %}{{ unit.__class__ }}",
    "\u202etxet desrever\u202c\u2066\u200b",
    "\x00\x07\x1b[2J\r\n\n# heading\n\n- item",
    "[x](javascript:alert(1)) ![i](http://a.example/i.png) https://a.example www.a.example",
    '"><img src=x onerror=alert(1)>',
    "</li></ul><h1>Everything works</h1>",
    "1. first. Second! Third? `code` *bold* _it_ ~~no~~ | a | b |",
    "\ud800 lone surrogate",
    "%s {0} {label} $x ${y}",
    "works " * 17000,
    "\u202e" * 5000 + "x" * 100_000,
)


def hostile_unit(device_class: DeviceClass, text: str) -> Unit:
    functions = {
        f.name: {"status": ("works", "impaired")[number % 2], "symptom": text, "note": text}
        for number, f in enumerate(device_class.functions)
    }
    return Unit.model_validate({
        "class": device_class.name, "number": text, "functions": functions,
        "attributes": {a.name: text for a in device_class.attributes if a.kind == "group"} | {text[:80]: text},
        "marks": [{"surface": device_class.surfaces[0].name, "kind": text}],
        "locks": {lock.name: {"state": "locked", "way": text} for lock in device_class.locks},
        "data_erased": text, "accessories": [text], "identity": text, "observed": [text],
        "history": [{"on": "2026-01-01", "what": text}],
    })  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_in_every_field_neither_runs_nor_breaks_the_page(text: str) -> None:
    for device_class in (small_class(), find_class("phone")):
        unit = hostile_unit(device_class, text)
        for format in PAGES:
            listing = render_listing(unit, device_class, format=format, on=WRITTEN)
            body = listing.body
            body.encode("utf-8")
            assert not any(ord(char) < 32 and char != "\n" for char in body)
            assert not any(char in "\u202a\u202b\u202d\u202e\u2066\u2067\u2068\u200b\u200f" for char in body)
            assert "49" not in body.replace("{{7*7}}", "")
            if format == "html":
                assert body.count("<li") == body.count("</li>") == len(listing.sentences) - 1
                assert not re.search(r"<(script|img|h1>E)", body)
                assert body.count("<h1>") == 1
            assert not [f for f in read_text(body, unit, device_class) if f.kind == "missing"]


def test_any_text_can_be_read_without_an_error() -> None:
    pieces = (
        "the screen", "<b>", "\\", ".", "works", "not", ":\n- ", "&amp;", "12 mm", "except", "\x00", "ﬁ", "İ", "½",
        "battery 90 %", "both", "everything", "unlocked", "<style>", "grade A", "two scratches on the back panel",
    )  # fmt: skip
    for seed in range(UNITS):
        chance = Random(seed)
        text = " ".join(chance.choice(pieces) for _ in range(chance.randint(0, 60)))
        for finding in read_text(text, random_unit(small_class(), seed), small_class()):
            assert 0 <= finding.start <= finding.end <= len(text)
