from __future__ import annotations

from typing import Any

import pytest

from data.catalogue.reader import find_class
from listing_templates.composition import READING_ORDER, sentences_of
from listing_templates.disclosures import disclosed_by
from listing_templates.function_disclosures import LONGEST_LIST
from listing_templates.wording import Wording
from pricing.records.device_class import DeviceClass, Function
from pricing.records.listing import Sentence
from pricing.records.money import Money
from pricing.records.unit import Unit
from tests.builders import LENS_SAY, healthy, small_class, small_unit, spotless


def sentences(unit: Unit, device_class: DeviceClass | None = None) -> tuple[Sentence, ...]:
    return sentences_of(unit, device_class or small_class(), Wording())


def text_of(name: str, unit: Unit) -> str:
    return " / ".join(sentence.text for sentence in sentences(unit) if sentence.id == name)


def test_a_unit_with_nothing_wrong_has_no_disclosure() -> None:
    assert [sentence for sentence in sentences(spotless()) if sentence.disclosure] == []


@pytest.mark.parametrize(
    ("name", "fields", "text"),
    [
        ("function.dead", {"functions": healthy(wifi={"status": "dead", "tested_on": "2026-03-04"})},
         "Wi-Fi: not working when tested on 4 March 2026."),
        ("function.impaired", {"functions": healthy(loudspeaker={"status": "impaired", "symptom": "rattles."})},
         "Loudspeaker: works poorly (rattles)."),
        ("function.removed", {"functions": healthy(camera_wide="removed")},
         "Ultra-wide camera: removed. The part is no longer in the unit. No true wide pictures."),
        ("function.left", {"functions": healthy(camera_wide={"status": "removed", "left_in_place": True})},
         "Ultra-wide camera: disconnected. The part was left inside, so from outside it looks present."
         " No true wide pictures."),
        ("function.untested", {"functions": healthy(wifi="untested")}, "Not tested: Wi-Fi."),
        ("function.restart", {"functions": healthy(camera_wide={"status": "works", "restarted": False})},
         "Not tested after a restart, so not counted as tested: ultra-wide camera."
         " You cannot see from outside whether it works."),
        ("function.void", {"opened": "by us", "opened_on": "2026-03-10", "opened_parts": ["screen"]},
         "Not tested again since the unit was opened: main camera and loudspeaker."),
        ("mark.seen", {"marks": [{"surface": "back_panel", "kind": "scratch", "count": 3, "size_mm": 12.5,
                                  "visible_at_arms_length": False}]},
         "Back panel: 3 scratches of up to 12.5 mm (seen only from close by)."),
        ("mark.cracked_glass", {"marks": [{"surface": "screen", "kind": "crack"}]},
         "Screen glass: one crack (length not measured). Handle it with care and follow local rules."),
        ("surface.covered", {"covered": ["screen"]}, "Covered, so not looked at underneath: screen glass."),
        ("surface.not_looked_at", {"looked_at": ["screen"]}, "Not looked at for marks: back panel."),
        ("part.third_party", {"parts": [{"part": "cell", "origin": "third-party", "fitted_on": "2026-02-01"}]},
         "Battery: third-party part, not from the maker of the unit, fitted on 1 February 2026."),
        ("part.salvaged", {"parts": [{"part": "screen", "origin": "salvaged"}]},
         "Screen: salvaged part from another unit. What that unit went through is not known."),
        ("part.unknown", {"parts": [{"part": "screen"}]},
         "Screen: changed. Where the part comes from is not known."),
        ("opened.by_us", {"opened": "by us", "opened_on": "2026-01-02"},
         "We opened this unit on 2 January 2026. Do not count on it to resist water."),
        ("opened.not_known", {"opened": "not known"},
         "We do not know whether this unit was ever opened. Do not count on it to resist water."),
        ("liquid.red", {"liquid_indicator": "red"},
         "Liquid indicator: red. Liquid has been inside, and parts can fail later."),
        ("liquid.not_looked_at", {"liquid_indicator": "not looked at"},
         "Liquid indicator: not looked at. Liquid may have been inside."),
        ("lock.locked", {"locks": {"owner_account": {"state": "locked", "checked_on": "2026-03-01", "way": "start"},
                                   "network_lock": "free"}},
         "Owner's account lock: locked when checked on 1 March 2026 (start). Only the owner can free it."
         " Sold for parts only."),
        ("lock.not_checked", {"locks": {"owner_account": "free"}},
         "Lock not checked: network lock. Not checked does not mean free."),
        ("battery_share.reported", {"battery_share": "84.50"},
         "Battery capacity: the unit reports 84.5 % of design. A reported figure can be wrong, and we did not"
         " measure it."),
        ("battery_share.measured", {"battery_share": "84", "battery_measured": True},
         "Battery capacity: measured at 84 % of design."),
        ("data.not_erased", {"data_erased": "No."}, "Stored data: not erased."),
        ("data.not_verified", {"data_verified": False}, "Stored data: erased (built-in erase), but not verified."),
        ("data.not_recorded", {"data_erased": None},
         "Stored data: not recorded whether it was erased. Erase it before use."),
        ("combination.observed", {"functions": healthy(camera_wide="removed"), "observed": [LENS_SAY]},
         f"Seen on this unit: {LENS_SAY}"),
    ],
)  # fmt: skip
def test_each_defect_has_its_sentence(name: str, fields: dict[str, Any], text: str) -> None:
    unit = spotless(**fields)
    assert text_of(name, unit) == text
    sentence = next(sentence for sentence in sentences(unit) if sentence.id == name)
    assert sentence.disclosure
    assert disclosed_by(sentence)


@pytest.mark.parametrize("state", ["white", "red", "missing", "cannot be seen", "not looked at"])
def test_only_a_white_liquid_indicator_is_no_disclosure(state: str) -> None:
    [sentence] = [s for s in sentences(spotless(liquid_indicator=state)) if s.facts == ("liquid",)]
    assert sentence.disclosure is (state != "white")


def test_a_dead_gate_says_once_what_it_kept_from_being_tested() -> None:
    unit = small_unit(functions={"power_on": "dead"})
    text = text_of("function.dead", unit)
    assert text == (
        "Switching on: not working. Nothing else could be tried. "
        "Because of this we could not test: main camera, ultra-wide camera and Wi-Fi."
    )
    everything = " ".join(sentence.text for sentence in sentences(unit))
    assert everything.lower().count("ultra-wide camera") == 1


def test_what_worked_but_is_out_of_reach_is_not_told_as_working() -> None:
    unit = spotless(functions=healthy(power_on="dead"))
    assert "main camera" in text_of("works.out_of_reach", unit)
    assert "main camera" not in text_of("works.tested", unit)


def test_hidden_faults_come_first_and_say_so() -> None:
    unit = spotless(functions=healthy(wifi="dead", camera_wide="removed"))
    faults = [s for s in sentences(unit) if s.id.startswith("function.")]
    assert [s.facts[0] for s in faults] == ["function:camera_wide", "function:wifi"]
    assert (faults[0].section, faults[0].hidden) == ("first", True)
    assert (faults[1].section, faults[1].hidden) == ("faults", False)


def test_not_fitted_is_not_mentioned() -> None:
    unit = spotless(functions=healthy(nfc="not fitted"))
    assert "contactless" not in " ".join(sentence.text for sentence in sentences(unit))


def test_untested_is_never_told_as_working() -> None:
    works = [s for s in sentences(small_unit()) if s.id.startswith("works.")]
    assert works == []


def test_a_safety_fault_carries_a_caution_that_defers_to_local_rules() -> None:
    text = text_of("function.dead", spotless(functions=healthy(battery_runtime="dead")))
    assert "Do not charge it unattended" in text
    assert "local rules" in text


def test_a_combination_that_says_what_the_opening_means_is_not_repeated() -> None:
    said = "It has been opened: do not count on resistance to water."
    combination = small_class().combinations[0].model_copy(update={"when": ("opened=by us",), "say": said})
    device_class = small_class().model_copy(update={"combinations": (combination,)})
    texts = [s.text for s in sentences(spotless(opened="by us", opened_on="2026-01-01"), device_class)]
    assert "We opened this unit on 1 January 2026." in texts
    assert said in texts


def test_what_reassures_is_said_and_is_no_disclosure() -> None:
    said = "No corrosion was seen where we looked."
    known = {"when": ("function:wifi=dead",), "say": said, "observed": True}
    for reassures in (True, False):
        combination = small_class().combinations[0].model_copy(update={**known, "reassures": reassures})
        device_class = small_class().model_copy(update={"combinations": (combination,)})
        unit = spotless(functions=healthy(wifi="dead"), observed=[said])
        [sentence] = [s for s in sentences(unit, device_class) if s.id == "combination.observed"]
        assert sentence.disclosure is not reassures


def test_many_untested_functions_are_grouped_into_lists_that_can_be_read_aloud() -> None:
    kins = ("camera", "sound", "radio", "keys", "body")
    many = DeviceClass(name="talker", functions=tuple(
        Function(name=f"part_{number}", label=f"thing {number}", kin=kins[number % 5]) for number in range(45)
    ))  # fmt: skip
    lists = [s for s in sentences(small_unit(), many) if s.id == "function.untested"]
    assert len(lists) == len(kins)
    assert lists[0].text.startswith("Not tested (camera): thing 0, thing 5,")
    assert sum(len(s.facts) for s in lists) == 45
    assert LONGEST_LIST < 45


def test_a_sentence_discloses_only_facts_of_its_own_noun() -> None:
    void = next(
        s for s in sentences(spotless(opened="by us", opened_on="2026-03-10")) if s.id == "function.void"
    )
    assert "opened" in void.facts
    assert all(key.startswith("function:") for key in disclosed_by(void))


def test_the_title_says_the_worst_that_is_known() -> None:
    assert sentences(spotless())[0].text == "Arvel N2, talker"
    assert sentences(spotless(functions=healthy(wifi="dead")))[0].text == "Arvel N2, talker, with faults"
    locked = sentences(spotless(locks={"owner_account": "locked"}))[0]
    assert locked.text == "Arvel N2, talker, locked, for parts only"
    assert "lock:owner_account" in locked.facts
    assert sentences(spotless(locks={"network_lock": "locked"}))[0].text == "Arvel N2, talker, locked"


def test_sections_stand_in_reading_order() -> None:
    places = [READING_ORDER.index(sentence.section) for sentence in sentences(small_unit())]
    assert places == sorted(places)


def test_the_grade_is_never_shown_without_its_words() -> None:
    assert text_of("look.grade", spotless()).startswith("Look: grade A, which means at most two small marks")
    assert text_of("look.not_graded", small_unit()).startswith("Look: not graded, because")


def test_the_price_given_beats_the_unit_s_own_ask() -> None:
    unit = spotless(ask={"amount": "100", "currency": "EUR"})
    own = sentences_of(unit, small_class(), Wording())
    given = sentences_of(unit, small_class(), Wording(), Money.model_validate({"amount": "1250", "currency": "JPY"}))
    assert own[-1].text == "Price: €100.00."
    assert given[-1].text == "Price: JP¥1,250."


@pytest.mark.parametrize(
    ("identity", "text"),
    [
        ("26-053179-311383-7", "IMEI, masked: …837. Its check digit is right."),
        ("260531793113830", "IMEI, masked: …830. Its check digit is wrong, so ask us before you buy."),
        ("26053179311383", "IMEI, masked: …383. It was recorded without a check digit."),
        ("SN-77-ABC-9012", "Serial number, masked: …12."),
    ],
)
def test_the_identity_is_told_masked_with_what_its_check_digit_says(identity: str, text: str) -> None:
    assert text in [sentence.text for sentence in sentences(spotless(identity=identity))]


def test_a_phone_that_cannot_call_says_first_that_emergency_calls_are_not_assured() -> None:
    phone = find_class("phone")
    unit = Unit.model_validate({"class": "phone", "functions": {"mobile_calls": "dead"}})
    [sentence] = [s for s in sentences(unit, phone) if s.id == "function.dead"]
    assert sentence.section == "first"
    assert "emergency calls are not assured" in sentence.text
    assert "ask a licensed person" not in sentence.text
