"""Facts kept at publication: every change of the unit shows, a change of the class's wording alone does not."""

from __future__ import annotations

import pytest

from listing_templates.kept_facts import kept_facts
from pricing.records.publication import changed_facts
from tests.builders import healthy, small_class, spotless
from tests.hostile import HOSTILE, hostile_unit

SCRATCH = {"surface": "screen", "kind": "scratch", "size_mm": 4, "visible_at_arms_length": False}


def changes(before, now, device_class=None):
    found = changed_facts(kept_facts(before, small_class()), kept_facts(now, device_class or small_class()))
    return {change.key: (change.before, change.now) for change in found}


@pytest.mark.parametrize(
    ("changed", "keys"),
    [
        ({"functions": healthy(wifi="dead")}, {"function:wifi"}),
        ({"functions": healthy(nfc={"status": "works", "tested_on": "2026-03-09"})}, {"function:nfc"}),
        ({"marks": [SCRATCH]}, {"mark:screen:scratch", "surface:screen"}),
        ({"locks": {"owner_account": "locked", "network_lock": "free"}}, {"lock:owner_account"}),
        ({"data_verified": False}, {"data"}),
        ({"ask": {"amount": "70", "currency": "EUR"}}, {"ask"}),
        ({"accessories": ["charger"]}, {"accessory:charger"}),
        ({"attributes": {"brand": "Arvel", "model": "N2", "storage_gb": "128"}}, {"attribute:storage_gb"}),
    ],
)
def test_a_changed_fact_is_named(changed, keys):
    assert set(changes(spotless(), spotless(**changed))) >= keys


def test_a_mark_that_grew_or_came_twice_is_told_with_its_size():
    bigger, twice = ({**SCRATCH, **more} for more in ({"size_mm": 9}, {"count": 2}))
    before = "screen glass: scratch: 1 × 4 mm, only from close by"
    for mark, now in ((bigger, "1 × 9 mm, only from close by"), (twice, "2 × 4 mm, only from close by")):
        told = changes(spotless(marks=[SCRATCH]), spotless(marks=[mark]))["mark:screen:scratch"]
        assert told == (before, f"screen glass: scratch: {now}")


def test_an_opening_changes_the_facts_that_it_makes_doubtful():
    told = changes(spotless(), spotless(opened="by us", opened_on="2026-03-20", opened_parts=["cell"]))
    assert told["function:battery_runtime"][1].startswith("battery run time: untested")
    assert "opened" in told


def test_other_words_of_the_class_or_notes_of_the_bench_are_no_change():
    worded = small_class()
    functions = tuple(f.model_copy(update={"label": f"the {f.name}", "weight": 1}) for f in worded.functions)
    locks = tuple(lock.model_copy(update={"means": "Other words."}) for lock in worded.locks)
    renamed = worded.model_copy(update={"functions": functions, "locks": locks})
    assert changes(spotless(), spotless(), renamed) == {}
    noted = healthy(wifi={"status": "works", "tested_on": "2026-03-03", "restarted": True, "note": "took two tries"})
    assert changes(spotless(), spotless(functions=noted)) == {}


def test_the_identity_is_kept_masked_only():
    number = "356938035643809"
    kept = kept_facts(spotless(identity=number), small_class())
    assert all(number not in fact.says for fact in kept)
    assert "identity" in {fact.key for fact in kept}


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_is_kept_as_text(text):
    assert kept_facts(hostile_unit(small_class(), text), small_class())
