"""Why a listing says a sentence: the facts that it rests on, in words, each with its origin."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from listing_templates.fact import Fact
from listing_templates.wording import Wording
from pricing.errors import NotFound, shortened
from pricing.records.base import Record
from pricing.records.listing import Sentence

_NAMED = ("attribute", "function", "surface", "mark", "part", "lock", "accessory", "carrier", "trace", "work")
_CODES = ("blocked", "opened", "restart", "told", "silent", "left in place")


class Reason(Record):
    """One sentence and what it rests on.

    Attributes:
        sentence: The sentence as the listing says it.
        because: One line per fact, in the order in which the sentence names them.
    """

    sentence: str
    because: tuple[str, ...]


def why(
    sentences: Sequence[Sentence], identifier: str, facts: Iterable[Fact], wording: Wording
) -> tuple[Reason, ...]:
    """Return the reasons of every sentence with this identifier ("function.dead").

    ``facts`` are those that the sentences were written from, in the same language, the terms of sale with them.

    Raises:
        NotFound: No sentence has this identifier; the message names those there are.
    """
    asked = [sentence for sentence in sentences if sentence.id == identifier]
    if not asked:
        known = ", ".join(sorted({sentence.id for sentence in sentences}))
        raise NotFound(f"no sentence {shortened(identifier)} in this listing; there are: {known}")
    by_key = {fact.key: fact for fact in facts}
    return tuple(
        Reason(
            sentence=sentence.text,
            because=tuple(line_of(by_key[key], wording) for key in sentence.facts if key in by_key),
        )
        for sentence in asked
    )


def line_of(fact: Fact, wording: Wording) -> str:
    """Return one fact with its origin: "Ultra-wide camera: not working. Recorded by the shop on 3 March 2026."."""
    day = "" if fact.day is None else wording.phrase("why.day", day=wording.day(fact.day))
    subject = wording.opening(_subject(fact, wording))
    return wording.phrase("why." + fact.source.replace(" ", "_"), subject=subject, state=_state(fact, wording), day=day)


def _subject(fact: Fact, wording: Wording) -> str:
    if fact.noun in _NAMED:
        return fact.label
    name = fact.name.partition(":")[0] if fact.noun == "terms" else fact.noun
    return wording.known_phrase(f"subject.{name}") or fact.label


def _state(fact: Fact, wording: Wording) -> str:
    if fact.noun == "class":
        return fact.label
    if fact.noun == "combination":
        return (fact.detail or "").rstrip(".")
    if fact.noun == "mark":
        return wording.listed([wording.mark_kind(fact.state, sum(mark.count for mark in fact.marks))])
    state = wording.known_phrase("state." + fact.state.replace(" ", "_").replace("-", "_")) or fact.state
    details = [text for text in (fact.detail, fact.way) if text is not None and text not in _CODES]
    if fact.noun == "lock":
        details = [] if fact.way is None else [fact.way]
    elif fact.noun == "terms":
        details = [] if fact.name.partition(":")[0] != "by_law" or fact.way is None else [fact.way]
    if not details:
        return state
    return wording.phrase("why.detail", state=state, detail="; ".join(detail.rstrip(".") for detail in details))
