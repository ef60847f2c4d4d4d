"""The ways in which listings mislead: the same words, held against two records."""

from __future__ import annotations

from typing import Any

import pytest

from listing_templates.honesty import read_text
from tests.builders import healthy, small_class, spotless

CLEAN: dict[str, Any] = {}
DEAD = {"functions": healthy(wifi="dead")}
UNTESTED = {"functions": healthy(wifi="untested")}
REMOVED = {"functions": healthy(camera_wide="removed")}
POOR = {"functions": healthy(loudspeaker={"status": "impaired", "symptom": "rattles at full volume"})}
LONG = {"marks": [{"surface": "back_panel", "kind": "scratch", "size_mm": 32}]}
SHORT = {"marks": [{"surface": "back_panel", "kind": "scratch", "size_mm": 3}]}
LOCKED = {"locks": {"owner_account": "locked", "network_lock": "free"}}
OPENED = {"opened": "by us", "opened_on": "2026-01-01"}
THIRD = {"parts": [{"part": "cell", "origin": "third-party", "fitted_on": "2026-01-01"}], **OPENED}
KEPT = {"data_erased": None}


def kinds(text: str, fields: dict[str, Any]) -> set[tuple[str, str]]:
    """Return kind and fact of what is found in the text itself."""
    findings = read_text(text, spotless(**fields), small_class())
    return {(found.kind, found.fact) for found in findings if found.kind != "missing"}


@pytest.mark.parametrize(
    ("text", "fine", "misled", "kind", "fact"),
    [
        ("The Wi-Fi should be fine.", CLEAN, UNTESTED, "no fact", "function:wifi"),
        ("As far as we know the Wi-Fi works.", CLEAN, UNTESTED, "no fact", "function:wifi"),
        ("The Wi-Fi was not tested, but it will be fine.", CLEAN, UNTESTED, "no fact", "function:wifi"),
        ("The Wi-Fi worked when we put it away.", CLEAN, UNTESTED, "no fact", "function:wifi"),
        ("We had no SIM here.", CLEAN, UNTESTED, "no fact", "function:wifi"),
        ("The Wi-Fi only needs a new antenna.", CLEAN, DEAD, "guessed cause", "function:wifi"),
        ("The Wi-Fi is dead, an easy fix.", CLEAN, DEAD, "guessed cause", "function:wifi"),
        ("A slight problem with the loudspeaker.", CLEAN, POOR, "weakened", "function:loudspeaker"),
        ("The loudspeaker has its quirks.", CLEAN, POOR, "weakened", "function:loudspeaker"),
        ("The loudspeaker rattles at full volume, as they all do.", CLEAN, POOR, "weakened", "function:loudspeaker"),
        ("The Wi-Fi may be dead.", CLEAN, DEAD, "weakened", "function:wifi"),
        ("The Wi-Fi was resoldered.", CLEAN, UNTESTED, "no fact", "function:wifi"),
        ("This edition does without the wide camera.", {"functions": healthy(camera_wide="not fitted")}, REMOVED,
         "against fact", "function:camera_wide"),
        ("The wide camera is removed, apart from that everything is perfect.", CLEAN,
         {"functions": healthy(camera_wide="removed", wifi="untested")}, "against fact", "function:wifi"),
        ("A tiny scratch on the back.", SHORT, LONG, "weakened", "mark:back_panel:scratch"),
        ("A scratch on the back, normal wear.", CLEAN, LONG, "weakened", "mark:back_panel:scratch"),
        ("Sold as seen.", CLEAN, LONG, "weakened", "mark:back_panel:scratch"),
        ("The back panel is flawless.", CLEAN, LONG, "superlative", "mark:back_panel:scratch"),
        ("In mint condition.", CLEAN, LONG, "superlative", "grade"),
        ("Condition 9/10.", CLEAN, LONG, "better than grade", "grade"),
        ("In excellent condition.", CLEAN,
         {"marks": [{"surface": "screen", "kind": "crack"}]}, "better than grade", "grade"),
        ("The battery is of original quality.", {"parts": [{"part": "cell", "origin": "original"}]}, THIRD,
         "against fact", "part:cell"),
        ("You just need to reset it.", CLEAN, LOCKED, "against fact", "lock:owner_account"),
        ("It was wiped.", CLEAN, KEPT, "no fact", "data"),
    ],
)  # fmt: skip
def test_the_same_words_are_fine_for_one_record_and_mislead_for_another(
    text: str, fine: dict[str, Any], misled: dict[str, Any], kind: str, fact: str
) -> None:
    assert kinds(text, fine) == set()
    assert (kind, fact) in kinds(text, misled)


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Like new.", "superlative"),
        ("Five stars.", "better than grade"),
        ("Grade A+ in our book, A++ even.", "better than grade"),
        ("Professionally repaired.", "no fact"),
        ("It is waterproof.", "no fact"),
        ("It holds its charge all day.", "no fact"),
        ("Found in a drawer.", "no fact"),
        ("One careful owner.", "no fact"),
        ("Cheaper than repair, and the last one.", "no fact"),
        ("No returns.", "rights denied"),
        ("Sold as a private sale.", "rights denied"),
        ("Look at the pictures and judge for yourself.", "pushed to buyer"),
        ("With the original charger.", "no fact"),
    ],
)
def test_what_no_record_can_bear_out_misleads_whatever_the_unit(text: str, kind: str) -> None:
    assert kind in {found for found, _ in kinds(text, CLEAN)}


@pytest.mark.parametrize(
    ("text", "fields"),
    [
        ("It is not mint, and nobody would call it flawless.", LONG),
        ("Far from immaculate: a 32 mm scratch on the back.", LONG),
        ("A small scratch of 32 mm on the back panel.", LONG),
        ("The maker calls it water resistant; we opened it, so do not count on that.", OPENED),
        ("The maker says \"waterproof\".", CLEAN),
        ("You should back up before the first update.", UNTESTED),
        ("Should you find anything that we missed, send it back.", UNTESTED),
        ("Photo 2 shows the scratch on the back panel.", LONG),
        ("We do not know whether it had one careful owner.", CLEAN),
        ("The Wi-Fi should be treated as dead: it was not tested.", UNTESTED),
        ("We had no cable here, so the Wi-Fi is not tested.", UNTESTED),
    ],
)
def test_honest_speech_with_such_words_is_left_alone(text: str, fields: dict[str, Any]) -> None:
    assert kinds(text, fields) == set()


def test_rights_denied_stop_a_listing_and_a_superlative_does_not() -> None:
    hard = {found.kind: found.hard for found in read_text("No returns. Like new.", spotless(), small_class())}
    assert hard == {"rights denied": True, "superlative": False}
