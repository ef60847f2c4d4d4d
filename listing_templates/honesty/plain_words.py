"""What a sentence plainly says of a thing, by the words that the rules know."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from functools import lru_cache

from listing_templates.fact import Fact
from listing_templates.honesty.evidence import telling
from listing_templates.honesty.said import Said
from listing_templates.honesty.told_as import BAD, BROKEN, FOREIGN, GONE, MARKED, OPEN, kindred, told_as
from listing_templates.wording import Wording

# As what else a state may be told, so that the buyer is warned of the same.
_ALSO: Mapping[str, tuple[str, ...]] = {
    "dead": (BROKEN, GONE, MARKED), "impaired": (BROKEN, MARKED),
    "unknown": (FOREIGN, OPEN), "not verified": (OPEN, BROKEN), "not recorded": (OPEN, BROKEN),
}  # fmt: skip
PRAISE = frozenset({"works", "tested", "clean", "free", "original"})
_ORIGINS = frozenset({"third-party", "salvaged", "unknown origin", "original"})
# Marks that go no deeper than the surface.
_ON_THE_SURFACE = frozenset({"glue rest", "sticker rest", "paint over", "discolouring"})
# What is plainly another state than that on record: who says "not working" of what was taken out says less than that.
_ANOTHER_STATE = {"removed": frozenset({"dead"}), "untested": frozenset({"dead"}), "dead": frozenset({"untested"})}


def as_told(fact: Fact) -> Collection[str]:
    """Return as what a fact may be told."""
    if fact.noun == "mark":
        return (MARKED,)
    if fact.noun in ("opened", "liquid"):
        # The topic holds the state: what is like "the strip is red" says so, whatever else it is like.
        return BAD
    told = told_as(fact.state)
    return _ALSO.get(fact.state, (told,) if told else ())


@lru_cache(maxsize=4096)
def in_own_words(fact: Fact, tag: str) -> str:
    """Return a fact in a few plain words of a language ("loudspeaker: muffled"), without numbers."""
    wording = Wording(tag)
    if fact.noun == "mark":
        return f"{fact.label}: {wording.mark_kind(fact.state, 1)}"
    if fact.noun == "function" and fact.state == "impaired" and fact.detail:
        return f"{fact.label}: {fact.detail}"
    state = wording.known_phrase("state." + fact.state.replace(" ", "_").replace("-", "_"))
    return f"{fact.label}: {state or fact.state}"


def says_otherwise(fact: Fact, said: Said) -> bool:
    """Return whether a sentence plainly tells something else: marks of other kinds only, or another origin."""
    if fact.noun == "mark":
        other = bool(said.kinds) and not said.kinds & kindred(fact.state) and not _is_slight_and_as_large(fact, said)
        return other or f"no kind:{fact.state}" in said.signals
    if fact.noun == "function":
        of_it = [one.signals for one in said.statements if fact.key in one.subjects]
        return any(signals & _ANOTHER_STATE.get(fact.state, frozenset()) for signals in of_it) and not any(
            signals & telling(fact.state) for signals in of_it
        )
    # "Whether it is original we do not know" names an origin and tells that it is unknown.
    names_another = bool(said.signals & _ORIGINS) and not said.signals & telling(fact.state)
    return fact.noun == "part" and fact.state != "unknown" and names_another


def _is_slight_and_as_large(fact: Fact, said: Said) -> bool:
    """Return whether a mark that lies on a surface is told with its size; sellers have many names for such marks."""
    sizes = {float(mark.size_mm) for mark in fact.marks if mark.size_mm is not None}
    return fact.state in _ON_THE_SURFACE and any(size == length for size in sizes for length in said.lengths_mm)


def only_praises(topic: str, said: Said) -> bool:
    """Return whether a sentence names this thing alone and says nothing of it, by its words, but that it works."""
    of_it = [one for one in said.statements if topic in one.subjects]
    praised = [one for one in of_it if one.signals & PRAISE and one.signals <= PRAISE | {"absent"}]
    return bool(of_it) and praised == of_it and len(said.names) == 1
