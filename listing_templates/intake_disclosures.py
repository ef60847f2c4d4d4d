"""Sentences on what intake recorded beyond functions, marks, locks and parts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from listing_templates.fact import Fact
from listing_templates.wording import Wording
from pricing.records.listing import Section, Sentence

# Fact with a sentence of its own: state -> section, and whether it is a disclosure.
_PLAIN: Mapping[str, Mapping[str, tuple[Section, bool]]] = {
    "cell:look": {"damaged": ("first", True), "unseen": ("first", True), "handled": ("parts", False)},
    "cell:message": {"message": ("parts", True)},
    "cell:maker": {"other": ("parts", True), "not known": ("parts", True)},
    "corrosion": {"seen": ("first", True), "none seen": ("parts", False)},
    "system:version": {"version": ("summary", False)},
    "system:language": {"language": ("summary", False)},
    "system:state": {"replaced": ("parts", True), "boot lock opened": ("parts", True)},
    "system:licence": {"no licence": ("parts", True)},
    "updates": {"until": ("parts", True)},
    "screws": {"some missing": ("parts", True)},
    "seal": {"renewed": ("parts", False)},
    "box": {"differs": ("parts", True)},
    "supply": {"own": ("included", False), "other": ("included", True), "left out": ("included", True)},
}
_LISTED: Mapping[str, tuple[str, Section]] = {"trace": ("found", "first"), "work": ("found", "parts")}


def intake_disclosures(facts: Sequence[Fact], wording: Wording) -> Iterator[Sentence]:
    """Yield the sentences on these facts: of each noun those that disclose something, and what belongs beside them."""
    by_noun: dict[str, list[Fact]] = {}
    for fact in facts:
        by_noun.setdefault(fact.noun, []).append(fact)
    held = by_noun.get("stop", [])
    if held:
        yield _sentence("stop.held", held, wording.sentence("stop.held"), "first", disclosure=True)
    for fact in facts:
        said = _PLAIN.get(fact.key, {}).get(fact.state)
        if said is not None:
            yield _plain(fact, *said, wording)
        elif fact.key in ("cell:cycles", "cell:reported"):
            yield _counted(fact, wording)
    for noun, (state, section) in _LISTED.items():
        yield from _together(f"{noun}.{state}", by_noun.get(noun, ()), section, wording)
    carriers = by_noun.get("carrier", [])
    still_in = [fact for fact in carriers if fact.state == "still in"]
    yield from _together("carrier.still_in", still_in, "parts", wording)
    gone = [fact for fact in carriers if fact.state != "still in"]
    yield from _together("carrier.gone", gone, "parts", wording, disclosure=False)
    yield from _identities([fact for fact in by_noun.get("identity", []) if fact.name], wording)


def _plain(fact: Fact, section: Section, disclosure: bool, wording: Wording) -> Sentence:
    when = "" if fact.day is None else wording.phrase("on_day", day=wording.day(fact.day))
    detail = "" if fact.detail is None else wording.phrase("way", way=fact.detail)
    name = f"{fact.noun}.{fact.state.replace(' ', '_')}"
    day = "" if fact.day is None else wording.day(fact.day)
    said = wording.sentence(name, day=day, when=when, detail=detail, value=fact.detail or "")
    return _sentence(name, [fact], said, section, disclosure=disclosure)


def _counted(fact: Fact, wording: Wording) -> Sentence:
    number = Decimal(fact.detail or "0")
    if fact.state == "cycles":
        said = wording.sentence("cell.cycles", count=int(number))
    else:
        said = wording.sentence("cell.reported", share=wording.number(number))
    return _sentence(f"cell.{fact.state}", [fact], said, "parts", disclosure=True)


def _together(
    name: str, facts: Iterable[Fact], section: Section, wording: Wording, *, disclosure: bool = True
) -> Iterator[Sentence]:
    alike = list(facts)
    if alike:
        said = wording.sentence(name, labels=wording.listed([fact.label for fact in alike]))
        yield _sentence(name, alike, said, section, disclosure=disclosure)


def _identities(places: Sequence[Fact], wording: Wording) -> Iterator[Sentence]:
    differ = [fact for fact in places if fact.state == "differs"]
    same = [fact for fact in places if fact.state != "differs"]
    if differ:
        said = wording.sentence("identity.differ", numbers=_numbers(differ, wording))
        yield _sentence("identity.differ", differ, said, "first", disclosure=True)
    if same:
        said = wording.sentence("identity.places", numbers=_numbers(same, wording))
        yield _sentence("identity.places", same, said, "summary", disclosure=False)


def _numbers(places: Sequence[Fact], wording: Wording) -> str:
    return wording.enumerated([
        wording.phrase("numbered", place=wording.phrase(f"place.{fact.name}"), number=fact.detail or "")
        for fact in places
    ])


def _sentence(name: str, facts: Sequence[Fact], text: str, section: Section, *, disclosure: bool) -> Sentence:
    return Sentence(
        id=name,
        section=section,
        text=text,
        facts=tuple(fact.key for fact in facts),
        disclosure=disclosure,
        hidden=disclosure and any(fact.hidden for fact in facts),
    )
