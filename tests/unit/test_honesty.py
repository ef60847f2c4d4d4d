"""The honesty reader on texts that a person wrote, each against a record.

In the tables "M", "A" and "N" stand for missing, against fact and no fact of a key.
"""

from __future__ import annotations

from typing import Any

import pytest

from listing_templates.honesty import read_text
from listing_templates.render import render_listing
from pricing.records.device_class import DeviceClass
from pricing.records.finding import Finding
from pricing.records.unit import Unit
from tests.builders import LENS_SAY, SOUND_SAY, healthy, small_class, spotless

DEAD = {"functions": healthy(wifi="dead")}
UNTESTED = {"functions": healthy(wifi="untested")}
REMOVED = {"functions": healthy(camera_wide="removed")}
POOR = {"functions": healthy(loudspeaker={"status": "impaired", "symptom": "rattles at full volume"})}
SCRATCH = {"marks": [{"surface": "back_panel", "kind": "scratch", "size_mm": 12}]}
SIX = {"marks": [{"surface": "back_panel", "kind": "scratch", "count": 6, "size_mm": 12}]}
LOCKED = {"locks": {"owner_account": "locked", "network_lock": "free"}}
UNCHECKED = {"locks": {"owner_account": "free"}}
OPENED = {"opened": "by us", "opened_on": "2026-01-01"}
THIRD = {"parts": [{"part": "cell", "origin": "third-party", "fitted_on": "2026-01-01"}], **OPENED}


def found(text: str, fields: dict[str, Any]) -> list[str]:
    letters = {"missing": "M", "against fact": "A", "no fact": "N"}
    findings = read_text(text, spotless(**fields), small_class())
    return sorted({f"{letters.get(f.kind, f.kind)} {f.fact}" for f in findings})


HONEST = [
    ("The Wi-Fi does not work.", DEAD),
    ("WiFi is dead, everything else works.", DEAD),
    ("wi fi doesn't work any more", DEAD),
    ("Everything works apart from the Wi-Fi.", DEAD),
    ("All functions work except the Wi-Fi.", DEAD),
    ("Sadly the wifi is broken.", DEAD),
    ("Faults:\n- Wi-Fi\n- nothing besides", DEAD),
    ("## Faults\n\n* Wi-Fi", DEAD),
    ("Doesn't work: Wi-Fi", DEAD),
    ("Wi-Fi: defective.", DEAD),
    ("The main camera works and the Wi-Fi is dead.", DEAD),
    ("The loudspeaker is fine but the Wi-Fi is not working.", DEAD),
    ("Working: main camera, loudspeaker. Not working: Wi-Fi.", DEAD),
    ("<ul><li>Wi-Fi: <b>dead</b></li></ul>", DEAD),
    ("<h2>Not working</h2><ul><li>Wi&#8209;Fi</li></ul>", DEAD),
    ("| Part | State |\n|---|---|\n| Wi-Fi | does not work |", DEAD),
    ("The Wi-Fi was not tested.", UNTESTED),
    ("I haven't tested the WLAN.", UNTESTED),
    ("We could not test the Wi-Fi, but the main camera works.", UNTESTED),
    ("Not tested: Wi-Fi.", UNTESTED),
    ("Untested: Wi-Fi", UNTESTED),
    ("Please treat the Wi-Fi as not working.", UNTESTED),
    ("All tested and working other than the Wi-Fi.", UNTESTED),
    ("The ultra-wide camera has been removed.", REMOVED),
    ("Ultrawide camera missing.", REMOVED),
    ("We took out the wide camera.", REMOVED),
    ("The ultra-wide camera is unplugged.", REMOVED),
    ("The loudspeaker rattles at full volume.", POOR),
    ("The speaker works poorly.", POOR),
    ("Loudspeaker: intermittent.", POOR),
    ("A 12 mm scratch on the back.", SCRATCH),
    ("The back panel is scratched.", SCRATCH),
    ("Back panel: one scratch, 1.2 cm long.", SCRATCH),
    ("Six scratches on the back panel.", SIX),
    ("The owner's account lock is on: locked.", LOCKED),
    ("Account lock still active.", LOCKED),
    ("The network lock was not checked.", UNCHECKED),
    ("We have not checked the SIM lock.", UNCHECKED),
    ("Opened by us on 1 January. The battery is an aftermarket one.", THIRD),
    ("We took it apart to fit a battery of another maker, so it has been opened.", THIRD),
    ("The water indicator is red.", {"liquid_indicator": "red"}),
    ("We did not look at the liquid indicator.", {"liquid_indicator": "not looked at"}),
    ("We can't say whether it was ever opened.", {"opened": "not known"}),
    ("The storage was not wiped.", {"data_erased": None}),
    ("The data was erased, but that was not verified.", {"data_verified": False}),
    ("It reports a battery capacity of 84 %.", {"battery_share": "84"}),
    ("Battery measured at 84%.", {"battery_share": "84", "battery_measured": True}),
    ("By its own account the battery has eighty-four per cent.", {"battery_share": "84"}),
    ("The back panel was under a case, so we did not look at it.", {"covered": ["back_panel"]}),
    ("Storage 256 GB. Everything was tested and works.", {}),
    ("No charger and no box included.", {}),
    ("Comes with a cable.", {"accessories": ["cable, 1 m"]}),
    ("Contactless payment is not fitted on this model.", {"functions": healthy(nfc="not fitted")}),
    ("Grade A.", {}),
    ("The data was securely erased and verified.", {}),
    ("No locks: it is unlocked.", {}),
    ("No sign of an earlier opening.", {}),
]


@pytest.mark.parametrize(("text", "fields"), HONEST)
def test_an_honest_text_in_other_words_has_no_finding(text: str, fields: dict[str, Any]) -> None:
    assert found(text, fields) == []


DISHONEST = [
    ("A nice talker.", DEAD, ["M function:wifi"]),
    ("Everything works.", DEAD, ["A function:wifi", "M function:wifi"]),
    ("Wi-Fi works fine.", DEAD, ["A function:wifi", "M function:wifi"]),
    ("No issues with the Wi-Fi.", DEAD, ["A function:wifi", "M function:wifi"]),
    ("There's nothing wrong with the wifi.", DEAD, ["A function:wifi", "M function:wifi"]),
    ("The Wi-Fi isn't broken.", DEAD, ["A function:wifi", "M function:wifi"]),
    ("Main camera and Wi-Fi work.", DEAD, ["A function:wifi", "M function:wifi"]),
    ("Working:\n- main camera\n- Wi-Fi", DEAD, ["A function:wifi", "M function:wifi"]),
    ("Fully working, no faults.", DEAD, ["A function:wifi", "M function:wifi"]),
    ("Tested and working.", UNTESTED, ["M function:wifi", "N function:wifi"]),
    ("The wireless network is perfect.", UNTESTED, ["M function:wifi", "N function:wifi"]),
    ("The Wi-Fi was tested.", UNTESTED, ["M function:wifi", "N function:wifi"]),
    ("Great ultra-wide camera.", REMOVED, ["A function:camera_wide", "M function:camera_wide"]),
    ("The ultra-wide camera does not work.", REMOVED, ["M function:camera_wide"]),
    ("All cameras work.", REMOVED, ["A function:camera_wide", "M function:camera_wide"]),
    ("The loudspeaker is loud and clear.", POOR, ["A function:loudspeaker", "M function:loudspeaker"]),
    ("Contactless works.", {"functions": healthy(nfc="not fitted")}, ["A function:nfc"]),
    ("The back is unmarked.", SCRATCH, ["A mark:back_panel:scratch", "M mark:back_panel:scratch"]),
    ("Back panel without scratches.", SCRATCH, ["A mark:back_panel:scratch", "M mark:back_panel:scratch"]),
    ("A scratch on the back, 3 mm.", SCRATCH, ["A mark:back_panel:scratch"]),
    ("One scratch on the back panel.", SIX, ["A mark:back_panel:scratch"]),
    ("The back panel is pristine.", {"covered": ["back_panel"]},
     ["M surface:back_panel", "N surface:back_panel", "superlative surface:back_panel"]),
    ("It is unlocked.", LOCKED, ["A lock:owner_account", "M lock:owner_account"]),
    ("SIM free.", UNCHECKED, ["M lock:network_lock", "N lock:network_lock"]),
    ("Network lock: free.", UNCHECKED, ["M lock:network_lock", "N lock:network_lock"]),
    ("Never opened.", OPENED, ["A opened", "M opened"]),
    ("Still waterproof. It was opened.", OPENED, ["A opened"]),
    ("Opened by us. Original battery.", THIRD, ["A part:cell", "M part:cell"]),
    ("Genuine battery.", {}, ["N part:cell"]),
    ("No water damage. The indicator turned red by liquid.", {"liquid_indicator": "red"}, ["A liquid"]),
    ("No water damage.", {}, ["N liquid"]),
    ("Data wiped.", {"data_erased": None}, ["M data", "N data"]),
    ("512 GB.", {}, ["A attribute:storage_gb"]),
    ("Battery health 100 %.", {"battery_share": "84"}, ["A battery_share", "M battery_share"]),
    ("Battery at 95 %.", {}, ["N battery_share"]),
    ("Boxed, with charger.", {}, ["N "]),
    ("Grade A.", {"marks": [{"surface": "back_panel", "kind": "dent", "count": 4}]},
     ["M mark:back_panel:dent", "better than grade grade"]),
    ("My number is 26-053179-311383-7.", {"identity": "260531793113837"}, ["identity shown identity"]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "fields", "wanted"), DISHONEST)
def test_what_a_text_hides_or_invents_is_found(text: str, fields: dict[str, Any], wanted: list[str]) -> None:
    assert found(text, fields) == wanted


@pytest.mark.parametrize(
    ("text", "fields", "hard"),
    [
        ("Wi-Fi works.", DEAD, True),
        ("The Wi-Fi works.", UNTESTED, False),
        ("It is unlocked.", UNCHECKED, True),
        ("Network lock: free.", UNCHECKED, True),
        ("Genuine battery.", {}, False),
    ],
)
def test_against_a_fact_and_locks_are_hard_without_a_fact_is_soft(
    text: str, fields: dict[str, Any], hard: bool
) -> None:
    placed = [f for f in read_text(text, spotless(**fields), small_class()) if f.kind != "missing"]
    assert [finding.hard for finding in placed] == [hard]


def test_the_same_words_are_right_for_one_unit_and_a_finding_for_another() -> None:
    text = "Wi-Fi works. The ultra-wide camera takes great pictures."
    assert found(text, {}) == []
    assert found(text, DEAD) == ["A function:wifi", "M function:wifi"]


@pytest.mark.parametrize(
    "text",
    [
        "First line.\nThe Wi-Fi works.\nLast line.",
        "# Title\n\n- nice\n- The **Wi-Fi** works.\n",
        "<p>First &amp; last</p>\n<p>The <b>Wi-Fi</b> works.</p>",
    ],
)
def test_a_finding_points_to_its_sentence_in_the_text_as_given(text: str) -> None:
    [finding] = [f for f in read_text(text, spotless(**DEAD), small_class()) if f.kind == "against fact"]
    quoted = text[finding.start : finding.end]
    assert "Wi-Fi" in quoted
    assert "works." in quoted
    assert "\n" not in quoted
    assert finding.suggestion == "Wi-Fi: not working."


def test_a_missing_untested_function_is_suggested_a_sentence_of_its_own() -> None:
    unit = spotless(functions=healthy(wifi="untested", loudspeaker="untested"))
    missing = [finding for finding in read_text("", unit, small_class()) if finding.kind == "missing"]
    assert [finding.suggestion for finding in missing] == ["Not tested: Wi-Fi.", "Not tested: loudspeaker."]
    assert all((finding.start, finding.end, finding.hard) == (0, 0, True) for finding in missing)


def test_a_suggestion_put_into_the_text_settles_the_finding() -> None:
    unit = spotless(functions=healthy(wifi="dead", loudspeaker="untested", camera_wide="removed"), **UNCHECKED)
    findings = read_text("A talker.", unit, small_class())
    text = "\n".join(["A talker.", *(finding.suggestion for finding in findings)])
    assert findings
    assert read_text(text, unit, small_class()) == ()


def test_otherwise_leaves_out_only_what_the_text_has_disclosed() -> None:
    both = {"functions": healthy(wifi="dead", microphone_call="dead")}
    assert found("The Wi-Fi is dead. Otherwise everything works.", DEAD) == []
    assert "A function:microphone_call" in found("The Wi-Fi is dead. Otherwise everything works.", both)


def test_it_means_what_the_sentence_before_spoke_of() -> None:
    assert found("We looked at the loudspeaker. It works. The Wi-Fi is dead.", DEAD) == []
    assert "A function:wifi" in found("Look at the Wi-Fi. It works.", DEAD)


def test_a_removed_lens_needs_no_consequence_to_be_honest_but_is_told_of_it() -> None:
    unit = spotless(**REMOVED, observed=[LENS_SAY])
    [finding] = read_text("The ultra-wide camera is removed.", unit, small_class())
    assert finding.fact.startswith("combination:")
    assert finding.hard


def test_a_consequence_that_only_follows_need_not_be_told_by_others_but_must_not_leave_our_listing() -> None:
    unit = spotless(functions=healthy(microphone_video="dead"))
    assert read_text("The video microphone is dead.", unit, small_class()) == ()
    body = render_listing(unit, small_class(), format="text").body
    assert SOUND_SAY in body
    [finding] = read_text(body.replace(SOUND_SAY, ""), unit, small_class())
    assert (finding.fact, finding.hard) == ("combination:0", False)


def test_a_consequence_in_other_words_is_recognised() -> None:
    unit = spotless(functions=healthy(microphone_video="dead"))
    assert read_text("The video microphone is dead: calls are heard but videos stay silent.", unit, small_class()) == ()


def test_scripts_styles_and_comments_are_not_read() -> None:
    dead = "Wi-Fi is dead"
    hidden = f"<html><head><title>{dead}</title></head><script>{dead}</script><!-- {dead} --></html>"
    assert found(hidden, DEAD) == ["M function:wifi"]


def test_tags_inside_a_plain_listing_are_text() -> None:
    symptom = "</li><li>hums <b>loud</b>"
    unit = spotless(functions=healthy(loudspeaker={"status": "impaired", "symptom": symptom}))
    body = render_listing(unit, small_class(), format="text").body
    assert read_text(body, unit, small_class()) == ()


def test_two_functions_of_one_label_are_each_asked_for() -> None:
    functions = small_class().functions
    twin = functions[3].model_copy(update={"name": "wifi_fast"})
    device_class = small_class().model_copy(update={"functions": (*functions, twin)})
    unit = spotless(functions={**healthy(wifi="dead"), "wifi_fast": {"status": "dead"}})
    body = render_listing(unit, device_class, format="text").body
    assert body.count("Wi-Fi: not working.") == 2
    assert _missing(body.replace("- Wi-Fi: not working.\n", "", 1), unit, device_class)
    assert not _missing(body, unit, device_class)


def _missing(text: str, unit: Unit, device_class: DeviceClass) -> list[Finding]:
    return [finding for finding in read_text(text, unit, device_class) if finding.kind == "missing"]


def test_an_empty_text_misses_everything_and_nothing_else() -> None:
    unit = spotless(**{**DEAD, **SCRATCH, **UNCHECKED, **THIRD})
    assert {finding.kind for finding in read_text("", unit, small_class())} == {"missing"}


FILLER = ["It comes from a tidy shelf.", "We answer within a day.", "The colour is black.", "It goes out on Monday."]


@pytest.mark.parametrize(("length", "place", "kinds"), [(24, 24, ["unreadable"]), (24, 3, []), (8, 8, [])])
def test_a_defect_told_only_at_the_end_of_a_long_text_is_buried(length: int, place: int, kinds: list[str]) -> None:
    sentences = [FILLER[number % len(FILLER)] for number in range(length)]
    sentences.insert(place, "The Wi-Fi is dead.")
    findings = read_text(" ".join(sentences), spotless(**DEAD), small_class())
    assert [(f.kind, f.fact, f.hard) for f in findings] == [(kind, "function:wifi", False) for kind in kinds]


def test_a_lock_that_holds_may_be_told_beside_one_that_is_free() -> None:
    locked = {"locks": {"network_lock": {"state": "locked"}}}
    said = "It is locked to one network and only the carrier can free the network lock; no other lock is free."
    assert [one for one in found(said, locked) if one.startswith("A lock:")] == []
    assert "A lock:network_lock" in found("The network lock is free.", locked)


def test_a_box_is_its_makers_where_the_record_has_one() -> None:
    boxed = {"accessories": ["box"]}
    assert [one for one in found("With the original box.", boxed) if one.startswith("N")] == []
    assert any(one.startswith("N") for one in found("With the original charger.", boxed))
