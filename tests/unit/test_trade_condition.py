"""Damaged, used or refurbished: read off the sentences, and never better than they are."""

from __future__ import annotations

import pytest

from listing_templates.composition import sentences_of
from listing_templates.trade_condition import condition_of
from listing_templates.wording import Wording
from tests.builders import healthy, small_class, small_unit, spotless

OPENED = {"opened": "by us", "opened_on": "2026-03-01", "opened_parts": ["cell"]}
CELL = {"part": "cell", "origin": "third-party", "fitted_on": "2026-03-01"}


def condition(unit):
    return condition_of(sentences_of(unit, small_class(), Wording()))


def test_a_unit_with_nothing_to_disclose_is_used_not_new():
    assert condition(spotless()) == "used"


@pytest.mark.parametrize(
    "fields",
    [
        {"functions": healthy(wifi="dead")},
        {"functions": healthy(wifi="removed")},
        {"functions": healthy(wifi={"status": "removed", "left_in_place": True})},
        {"functions": healthy(wifi={"status": "impaired", "symptom": "slow"})},
        {"locks": {"owner_account": "locked", "network_lock": "free"}},
        {"marks": [{"surface": "screen", "kind": "crack"}]},
        {"marks": [{"surface": "back_panel", "kind": "missing piece"}]},
    ],
)
def test_one_fault_lock_or_break_makes_it_damaged(fields):
    assert condition(spotless(**fields)) == "damaged"
    assert condition(spotless(**fields, **OPENED, parts=[CELL])) == "damaged"


def test_a_repair_tested_afterwards_in_every_function_makes_it_refurbished():
    assert condition(spotless(**OPENED, parts=[CELL])) == "refurbished"


@pytest.mark.parametrize(
    "fields",
    [
        {"functions": healthy(wifi="untested")},
        {"functions": healthy(tested_on=None)},
        {"functions": healthy(tested_on="2026-02-01")},
        {"parts": []},
        {"opened": "by others"},
        {"opened": "not known", "opened_on": None, "parts": [{"part": "cell", "origin": "salvaged"}]},
        {"locks": {"owner_account": "free"}},
        {"liquid_indicator": "red"},
        {"data_verified": False},
        {"looked_at": ["screen"]},
    ],
)
def test_a_repair_with_anything_open_is_only_used(fields):
    assert condition(spotless(**{**OPENED, "parts": [CELL], **fields})) == "used"


def test_a_unit_of_which_nothing_is_known_is_used():
    assert condition(small_unit()) == "used"
