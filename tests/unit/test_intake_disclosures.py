from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from listing_templates.composition import sentences_of
from listing_templates.disclosures import disclosed_by
from listing_templates.facts import facts_of
from listing_templates.wording import Wording
from pricing.records.listing import Sentence
from pricing.records.stops import with_checks_of_today
from tests.builders import small_class, spotless

YES = {"answer": True, "by": "bench 2", "on": "2026-03-04"}
HANDLED = {"seen_flat": YES, "sound": YES, "in_voltage_range": YES, "sits_free": YES}
SERIAL, OTHER = "SN-77-ABC-901", "SN-12-XYZ-333"
SUPPLY = {"maker": "other", "watts": 20, "plug": "C", "marked": True, "damaged": False}


def said(**fields: Any) -> dict[str, Sentence]:
    return {sentence.id: sentence for sentence in sentences_of(spotless(**fields), small_class(), Wording())}


@pytest.mark.parametrize(
    ("name", "fields", "text"),
    [
        ("cell.damaged", {"cell": {"look": "leaking"}},
         "Battery: seen to be damaged. Do not charge, press or bend it, and follow local rules."),
        ("cell.unseen", {"cell": {"had_impact": True}},
         "Battery: not looked at since the unit had a fall or was bent. It can be damaged without showing it."),
        ("cell.message", {"cell": {"message": True}}, "Battery: the unit shows a message about it."),
        ("cell.other", {"cell": {"maker": "other"}},
         "Battery: from another maker than the unit. What the unit reports of it can be wrong."),
        ("cell.not_known", {"cell": {"maker": "not known"}}, "Battery: who made it is not known."),
        ("cell.cycles", {"cell": {"cycles": 1512}}, "Battery: the unit reports 1512 charge cycles."),
        ("cell.reported", {"cell": {"reported_share": "97.50"}},
         "Battery capacity: the unit itself reports 97.5 % of design, which can be wrong."),
        ("corrosion.seen", {"corrosion": "seen", "looked_at_inside": ["board", "charge port"]},
         "Corrosion: seen inside (board, charge port). Parts can fail later."),
        ("data.destroyed", {"storage": "destroyed"}, "Storage: taken out and destroyed, so none comes with the unit."),
        ("data.handed_over", {"storage": "handed over"},
         "Storage: taken out and handed over to be destroyed, so none comes with the unit."),
        ("data.kept", {"storage": "kept"}, "Storage: taken out, so none comes with the unit."),
        ("carrier.still_in", {"carriers": {"sim": "still in"}},
         "Still in it from before, so take it out before use: sim."),
        ("identity.differ", {"identity": SERIAL, "identities": {"board": OTHER}},
         "Numbers that do not agree, masked: body …01, board …33. It may have been put together from two units, so look"
         " up every number before you buy."),
        ("system.replaced", {"software": {"state": "replaced"}},
         "System: not the maker's own. Payment and bank apps may refuse it."),
        ("system.boot_lock_opened", {"software": {"state": "boot lock opened"}},
         "System: its boot lock was opened. Payment and bank apps may refuse it."),
        ("system.no_licence", {"software": {"licence": False}}, "System: no licence for it comes with the unit."),
        ("updates.until", {"software": {"updates_until": "2026-06-30"}},
         "Security updates: promised by the maker until 30 June 2026. Holes found later stay open."),
        ("trace.found", {"traces": ["smoke", "insects"]}, "Seen or smelt on it: smoke and insects."),
        ("work.found", {"earlier_work": ["flux"]}, "Signs of earlier work inside: flux."),
        ("screws.some_missing", {"screws": "some missing"}, "Screws: not all of them are there."),
        ("box.differs", {"box_matches": False}, "Box: it belongs to another unit."),
        ("supply.other", {"supply": SUPPLY}, "Power supply: from another maker (20 W, C)."),
        ("supply.left_out", {"supply": {**SUPPLY, "marked": False}},
         "Power supply: left out, because it is unmarked, damaged or of unknown make."),
        ("stop.held", {"doubts": ["reported stolen"]}, "This unit is held back. It is not for sale."),
    ],
)  # fmt: skip
def test_each_thing_recorded_at_intake_has_its_disclosure(name: str, fields: dict[str, Any], text: str) -> None:
    sentence = said(**fields)[name]
    assert sentence.text == text
    assert sentence.disclosure
    assert disclosed_by(sentence)


@pytest.mark.parametrize(
    ("name", "fields", "text"),
    [
        ("cell.handled", {"cell": {"had_impact": True, "handling": HANDLED}},
         "Battery: taken out after a fall or a bend, looked at on 4 March 2026, and found flat and whole."),
        ("corrosion.none_seen", {"corrosion": "none seen"}, "Corrosion: none seen where we looked."),
        ("carrier.gone", {"carriers": {"sim": "none"}}, "Looked for, and nothing of a former owner left: sim."),
        ("identity.places", {"identities": {"body": SERIAL, "box": SERIAL}},
         "Numbers read, masked: body …01, box …01."),
        ("system.version", {"software": {"version": "14.2"}}, "System version: 14.2."),
        ("seal.renewed", {"sealed_with": "new adhesive."}, "Closed again with: new adhesive."),
        ("supply.own", {"supply": {**SUPPLY, "maker": "own"}}, "Power supply: from the maker of the unit (20 W, C)."),
        ("data.verified", {"data_verified_how": "first start"},
         "Stored data: erased (built-in erase; first start) and verified."),
    ],
)  # fmt: skip
def test_what_is_in_order_is_said_without_being_a_disclosure(name: str, fields: dict[str, Any], text: str) -> None:
    sentence = said(**fields)[name]
    assert (sentence.text, sentence.disclosure) == (text, False)


def test_what_can_hurt_or_cannot_be_seen_stands_near_the_top() -> None:
    sections = {
        name: sentence.section
        for fields in (
            {"cell": {"look": "swollen"}}, {"cell": {"had_impact": True}}, {"corrosion": "seen"}, {"traces": ["mould"]},
            {"identities": {"body": SERIAL, "board": OTHER}}, {"marks": [{"surface": "screen", "kind": "crack"}]},
        )
        for name, sentence in said(**fields).items()
        if name in ("cell.damaged", "cell.unseen", "corrosion.seen", "trace.found", "identity.differ",
                    "mark.cracked_glass")
    }  # fmt: skip
    assert set(sections.values()) == {"first"}
    assert len(sections) == 6


def test_a_lock_check_that_has_grown_old_is_told_as_such_and_no_longer_as_free() -> None:
    device_class = small_class()
    aging = device_class.model_copy(
        update={"locks": tuple(lock.model_copy(update={"days": 30}) for lock in device_class.locks)}
    )
    unit = spotless(locks={"owner_account": {"state": "free", "checked_on": "2026-03-01"}, "network_lock": "free"})
    old = with_checks_of_today(unit, aging, date(2026, 5, 1))
    found = {sentence.id: sentence for sentence in sentences_of(old, aging, Wording())}
    assert found["lock.stale"].text == (
        "Checked too long ago to count: owner's account lock. Not checked lately does not mean free."
    )
    assert found["lock.free"].facts == ("lock:network_lock",)
    assert found["lock.stale"].disclosure
    told = said(locks={"owner_account": {"state": "not checked", "checked_on": "2026-03-01"}, "network_lock": "free"})
    assert "lock.stale" not in told


def test_every_bad_fact_of_intake_is_disclosed_by_a_sentence() -> None:
    unit = spotless(
        cell={"look": "hot", "message": True, "maker": "other", "cycles": 3, "reported_share": "90"},
        corrosion="seen", carriers={"sim": "still in"}, traces=["damp"], earlier_work=["flux"], screws="some missing",
        identities={"body": SERIAL, "board": OTHER}, doubts=["identity altered"], box_matches=False,
        software={"state": "replaced", "licence": False, "updates_until": "2026-01-31"}, supply=SUPPLY,
    )  # fmt: skip
    sentences = sentences_of(unit, small_class(), Wording())
    disclosed = {key for sentence in sentences for key in disclosed_by(sentence)}
    hidden = {fact.key for fact in facts_of(unit, small_class()) if fact.hidden and fact.noun not in (
        "function", "opened", "liquid", "lock", "part", "battery_share", "data")}  # fmt: skip
    assert hidden <= disclosed
    assert len(hidden) >= 13
