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
# Kinds of mark that sellers call by each other's names. None is told as less than it is: a crack is no scratch.
KINDRED: Mapping[str, tuple[str, ...]] = {
    "chip": ("missing piece", "crack", "dent"),
    "dent": ("chip",),
    "scuff": ("scratch", "worn coating"),
    "scratch": ("scuff",),
    "gap": ("lifted edge",),
    "lifted edge": ("gap",),
    "worn coating": ("scuff", "discolouring"),
    "discolouring": ("worn coating",),
    "sticker rest": ("glue rest",),
    "glue rest": ("sticker rest",),
}


def told_as(state: str) -> str:
    """Return as what a state is told; "" for one that is not known here, such as a kind of mark."""
    return TOLD_AS.get(state, "")


def kindred(kind: str) -> frozenset[str]:
    """Return a kind of mark and those that sellers call by its name."""
    return frozenset({kind, *KINDRED.get(kind, ())})
