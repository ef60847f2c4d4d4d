"""Disclosures about what is no function: locks, opening, liquid, parts, battery, data, marks and combinations."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from listing_templates.fact import Fact
from listing_templates.wording import Wording
from pricing.records.listing import Section, Sentence
from pricing.records.unit import Mark

_SECTION_OF_NOUN: dict[str, Section] = {
    "function": "faults", "part": "parts", "opened": "parts", "liquid": "parts", "mark": "look", "lock": "locks",
}  # fmt: skip


def condition_disclosures(facts: Sequence[Fact], wording: Wording) -> tuple[Sentence, ...]:
    """Return the sentences on everything but functions, in reading order within each section."""
    by_noun: dict[str, list[Fact]] = {}
    for fact in facts:
        by_noun.setdefault(fact.noun, []).append(fact)
    by_key = {fact.key: fact for fact in facts}
    covered = _said_by_combinations(by_noun.get("combination", []))
    return (
        *(_mark(fact, fact.key in covered, wording) for fact in by_noun.get("mark", [])),
        *_surfaces(by_noun.get("surface", []), wording),
        *_locks(by_noun.get("lock", []), wording),
        _opened(by_key["opened"], by_noun.get("part", []), "opened" in covered, wording),
        *(_liquid(fact, wording) for fact in by_noun.get("liquid", [])),
        *(_part(fact, fact.key in covered, wording) for fact in by_noun.get("part", [])),
        *(_battery(fact, wording) for fact in by_noun.get("battery_share", [])),
        *(_data(fact, wording) for fact in by_noun.get("data", [])),
        *(_combination(fact, wording) for fact in by_noun.get("combination", [])),
    )


def _said_by_combinations(combinations: Iterable[Fact]) -> set[str]:
    """Return the keys of facts whose consequence a combination of that one fact already says."""
    rests = [(fact.way or "").split("\n") for fact in combinations]
    return {keys[0] for keys in rests if len(keys) == 1 and keys[0]}


def _mark(fact: Fact, said: bool, wording: Wording) -> Sentence:
    what = wording.listed([_blemish(fact.state, mark, wording) for mark in fact.marks])
    text = wording.sentence("mark.seen", label=wording.opening(fact.label), what=what)
    if fact.danger:
        text += " " + wording.phrase("caution_glass_short" if said else "caution_glass")
    section: Section = "first" if fact.danger else "look"
    name = "mark.cracked_glass" if fact.danger else "mark.seen"
    return Sentence(id=name, section=section, text=text, facts=(fact.key,), disclosure=True)


def _blemish(kind: str, mark: Mark, wording: Wording) -> str:
    pieces = [wording.mark_kind(kind, mark.count)]
    if mark.size_mm is None:
        pieces.append(wording.phrase("not_measured"))
    else:
        size = wording.measure(Decimal(str(mark.size_mm)), "mm")
        pieces.append(wording.phrase("size", count=mark.count, size=size))
    if mark.visible_at_arms_length is not None:
        seen = "arms_length" if mark.visible_at_arms_length else "close_only"
        pieces.append(wording.phrase(seen))
    return " ".join(pieces)


def _surfaces(surfaces: Sequence[Fact], wording: Wording) -> Iterable[Sentence]:
    for state, name in (("covered", "surface.covered"), ("not looked at", "surface.not_looked_at")):
        alike = [fact for fact in surfaces if fact.state == state]
        if alike:
            text = wording.sentence(name, count=len(alike), labels=wording.listed([f.label for f in alike]))
            keys = tuple(fact.key for fact in alike)
            yield Sentence(id=name, section="look", text=text, facts=keys, disclosure=True)


def _locks(locks: Sequence[Fact], wording: Wording) -> Iterable[Sentence]:
    for lock in locks:
        if lock.state == "locked":
            yield _locked(lock, wording)
    unchecked = [lock for lock in locks if lock.state == "not checked"]
    for name, alike in (
        ("lock.not_checked", [lock for lock in unchecked if lock.because is None]),
        ("lock.stale", [lock for lock in unchecked if lock.because is not None]),
    ):
        if alike:
            yield _unchecked(name, alike, wording)
    free = [lock for lock in locks if lock.state == "free"]
    for seen in dict.fromkeys((lock.day, lock.way) for lock in free):
        yield _free([lock for lock in free if (lock.day, lock.way) == seen], wording)


def _unchecked(name: str, locks: Sequence[Fact], wording: Wording) -> Sentence:
    labels = wording.listed([lock.label for lock in locks])
    return Sentence(
        id=name,
        section="locks",
        text=wording.sentence(name, count=len(locks), labels=labels),
        facts=tuple(lock.key for lock in locks),
        disclosure=True,
        hidden=True,
    )


def _locked(lock: Fact, wording: Wording) -> Sentence:
    day, way = _checked(lock, wording)
    text = wording.sentence("lock.locked", label=wording.opening(lock.label), day=day, way=way)
    parts_only = wording.phrase("parts_only") if lock.danger else ""
    text = " ".join(piece for piece in (text, lock.detail or "", parts_only) if piece)
    return Sentence(id="lock.locked", section="locks", text=text, facts=(lock.key,), disclosure=True, hidden=True)


def _free(locks: Sequence[Fact], wording: Wording) -> Sentence:
    """Return one sentence on the locks that were found free on the same day in the same way."""
    day, way = _checked(locks[0], wording)
    labels = wording.listed([lock.label for lock in locks])
    text = wording.sentence("lock.free", labels=labels, day=day, way=way)
    return Sentence(id="lock.free", section="locks", text=text, facts=tuple(lock.key for lock in locks))


def _checked(lock: Fact, wording: Wording) -> tuple[str, str]:
    """Return when and how a lock was checked, as pieces of a sentence."""
    day = wording.phrase("no_check_day") if lock.day is None else wording.phrase("check_day", day=wording.day(lock.day))
    return day, "" if lock.way is None else wording.phrase("way", way=lock.way.rstrip("."))


def _opened(fact: Fact, parts: Sequence[Fact], said: bool, wording: Wording) -> Sentence:
    name = "opened." + fact.state.replace(" ", "_")
    when = "" if fact.day is None else wording.phrase("on_day", day=wording.day(fact.day))
    text = wording.sentence(name, when=when)
    if fact.state != "no sign" and not said:
        text += " " + wording.phrase("no_water")
    fitted = [part.key for part in parts if part.state != "original"] if fact.state == "opened" else []
    return Sentence(
        id=name,
        section="parts",
        text=text,
        facts=(fact.key, *fitted),
        disclosure=fact.state != "no sign",
        hidden=fact.state != "no sign",
    )


def _liquid(fact: Fact, wording: Wording) -> Sentence:
    name = "liquid." + fact.state.replace(" ", "_")
    bad = fact.state != "white"
    text = wording.sentence(name)
    return Sentence(id=name, section="parts", text=text, facts=(fact.key,), disclosure=bad, hidden=bad)


def _part(fact: Fact, said: bool, wording: Wording) -> Sentence:
    name = "part." + fact.state.replace("-", "_")
    phrase = "changed_day" if fact.state == "unknown" else "fitted_day"
    when = "" if fact.day is None else wording.phrase(phrase, day=wording.day(fact.day))
    text = wording.sentence(name, label=wording.opening(fact.label), when=when)
    if fact.state == "salvaged" and not said:
        text += " " + wording.phrase("donor")
    bad = fact.state != "original"
    return Sentence(id=name, section="parts", text=text, facts=(fact.key,), disclosure=bad, hidden=bad)


def _battery(fact: Fact, wording: Wording) -> Sentence:
    name = f"battery_share.{fact.way}"
    text = wording.sentence(name, share=wording.number(Decimal(fact.state)))
    return Sentence(id=name, section="parts", text=text, facts=(fact.key,), disclosure=True, hidden=True)


def _data(fact: Fact, wording: Wording) -> Sentence:
    way = "; ".join(text.rstrip(" .!") for text in (fact.way, fact.detail) if text)
    name = "data." + fact.state.replace(" ", "_")
    text = wording.sentence(name, way=way)
    bad = fact.state != "verified"
    return Sentence(id=name, section="parts", text=text, facts=(fact.key,), disclosure=bad, hidden=bad)


def _combination(fact: Fact, wording: Wording) -> Sentence:
    rests_on = tuple((fact.way or "").split("\n")) if fact.way else ()
    noun = rests_on[0].split(":", 1)[0] if rests_on else ""
    first = fact.danger or (fact.hidden and noun == "function")
    section: Section = "first" if first else _SECTION_OF_NOUN.get(noun, "faults")
    said = fact.detail or ""
    name = "combination.holds" if fact.state == "holds" else "combination.observed"
    text = wording.sentence(name, say=said if said.endswith((".", "!", "?")) else said + ".")
    bad = fact.state != "reassuring"
    return Sentence(
        id=name, section=section, text=text, facts=(fact.key, *rests_on), disclosure=bad, hidden=fact.hidden
    )
