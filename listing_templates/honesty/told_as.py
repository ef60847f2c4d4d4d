"""As what recorded states are told: to a reader "dead" and "broken" are one, "not tried" and "never looked" another."""

from __future__ import annotations

from collections.abc import Mapping
from importlib.resources import files

FOLDER = files("listing_templates.honesty") / "examples"
BROKEN, GONE, OPEN, FOREIGN, MARKED, GOOD = STATES = ("broken", "gone", "open", "foreign", "marked", "good")
BAD = tuple(state for state in STATES if state != GOOD)
# What each recorded state is told as.
TOLD_AS: Mapping[str, str] = {
    "removed": GONE,
    **dict.fromkeys(("dead", "impaired", "locked", "red", "missing", "not erased"), BROKEN),
    **dict.fromkeys(("untested", "not checked", "not looked at", "covered", "cannot be seen"), OPEN),
    **dict.fromkeys(("not verified", "not recorded", "not known"), OPEN),
    **dict.fromkeys(("third-party", "salvaged", "unknown", "by us", "by others"), FOREIGN),
    **dict.fromkeys(("works", "original", "free", "clean", "no sign", "white", "verified"), GOOD),
    "mark": MARKED,
}


def told_as(state: str) -> str:
    """Return as what a state is told; a kind of mark is told as a mark, what is not known here as nothing."""
    return TOLD_AS.get(state, "")
