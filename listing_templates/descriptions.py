"""What a listing says beside its disclosures: title, summary, look, what works, what is included, price."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from listing_templates.fact import Fact
from listing_templates.function_disclosures import FAULTS, grouped
from listing_templates.wording import Wording
from pricing.records.listing import Sentence
from pricing.records.money import Money


def title_of(facts: Sequence[Fact], wording: Wording) -> Sentence:
    """Return the title: brand and model as recorded, the class, and the worst that is known."""
    named = [fact for fact in facts if fact.noun == "attribute" and fact.kin == "group"]
    kind = next(fact for fact in facts if fact.key == "class")
    locked = [fact for fact in facts if fact.noun == "lock" and fact.state == "locked"]
    faulty = [fact for fact in facts if fact.noun == "function" and fact.state in FAULTS]
    name = " ".join(fact.state[:60] for fact in named)
    label = kind.label if name else wording.opening(kind.label)
    what = wording.phrase("name_and_class", name=name, kind=wording.inner(label)) if name else label
    if any(lock.danger for lock in locked):
        state, because = "title.parts_only", [lock for lock in locked if lock.danger]
    elif locked:
        state, because = "title.locked", locked
    elif faulty:
        state, because = "title.faulty", faulty
    else:
        state, because = "title.plain", []
    keys = tuple(fact.key for fact in (kind, *named, *because))
    return Sentence(id=state, section="title", text=wording.sentence(state, name=what), facts=keys)


def summary_of(facts: Sequence[Fact], wording: Wording) -> Iterable[Sentence]:
    """Return the specifications, how many functions are in which state, and the masked identity."""
    attributes = [fact for fact in facts if fact.noun == "attribute"]
    if attributes:
        values = wording.opening(wording.enumerated([_attribute(fact, wording) for fact in attributes]))
        yield _plain("summary.attributes", attributes, wording.sentence("summary.attributes", values=values))
    functions = [fact for fact in facts if fact.noun == "function" and fact.state != "not fitted"]
    if functions:
        works = sum(fact.state == "works" for fact in functions)
        untested = sum(fact.state == "untested" for fact in functions)
        text = wording.sentence(
            "summary.counts",
            total=wording.number(Decimal(len(functions))),
            works=wording.number(Decimal(works)),
            faulty=wording.number(Decimal(len(functions) - works - untested)),
            untested=wording.number(Decimal(untested)),
        )
        yield _plain("summary.counts", functions, text)
    for fact in facts:
        if fact.key == "identity":
            name = "summary." + fact.state.replace(" ", "_")
            yield _plain(name, [fact], wording.sentence(name, masked=fact.detail or ""))


def look_of(facts: Sequence[Fact], wording: Wording) -> Iterable[Sentence]:
    """Return the grade with its meaning, and the surfaces on which no mark was found."""
    seen = [fact for fact in facts if fact.noun in ("surface", "mark")]
    for fact in facts:
        if fact.key == "grade" and seen:
            name = "look.not_graded" if fact.state == "not graded" else "look.grade"
            text = wording.sentence(name, grade=fact.state, words=fact.detail or "")
            yield _plain(name, [fact, *seen], text)
    clean = [fact for fact in seen if fact.noun == "surface" and fact.state == "clean"]
    if clean:
        labels = wording.listed([fact.label for fact in clean])
        yield _plain("look.clean", clean, wording.sentence("look.clean", labels=labels))


def works_of(facts: Sequence[Fact], wording: Wording) -> Iterable[Sentence]:
    """Return what was tested and works, by the day of the test; what a dead function keeps from use apart."""
    works = [fact for fact in facts if fact.noun == "function" and fact.state == "works"]
    usable = [fact for fact in works if fact.because is None]
    for day in sorted({fact.day for fact in usable if fact.day is not None}):
        same_day = [fact for fact in usable if fact.day == day]
        yield from _works(same_day, "works.tested", wording, day=wording.day(day))
    yield from _works([fact for fact in usable if fact.day is None], "works.undated", wording)
    yield from _works([fact for fact in works if fact.because is not None], "works.out_of_reach", wording)


def included_of(facts: Sequence[Fact], wording: Wording) -> Iterable[Sentence]:
    """Return what comes with the unit; when nothing is recorded, that only the unit itself is sold."""
    accessories = [fact for fact in facts if fact.noun == "accessory"]
    if accessories:
        labels = wording.listed([fact.label for fact in accessories])
        yield _plain("included.with", accessories, wording.sentence("included.with", labels=labels))
    else:
        kind = [fact for fact in facts if fact.key == "class"]
        yield _plain("included.nothing", kind, wording.sentence("included.nothing"))


def price_of(facts: Sequence[Fact], price: Money | None, wording: Wording) -> Iterable[Sentence]:
    """Return the asking price, if there is one."""
    if price is not None:
        asked = [fact for fact in facts if fact.key == "ask"]
        yield _plain("price.asked", asked, wording.sentence("price.asked", price=wording.money(price)))


def _works(facts: Sequence[Fact], name: str, wording: Wording, day: str = "") -> Iterable[Sentence]:
    for kin, alike in grouped(facts):
        group = "" if kin is None else wording.phrase("group", kin=wording.text(kin))
        labels = wording.listed([fact.label for fact in alike])
        yield _plain(name, alike, wording.sentence(name, group=group, labels=labels, day=day))


def _attribute(fact: Fact, wording: Wording) -> str:
    value, measure = fact.state, fact.detail
    if fact.kin == "number" and _is_number(value):
        exact = Decimal(value)
        if abs(exact) < 10**15:
            value = wording.number(exact) if measure is None else wording.measure(exact, measure)
            measure = None
    value = value if measure is None else f"{value} {measure}"
    return wording.phrase("attribute", label=fact.label, value=value)


def _is_number(text: str) -> bool:
    return text.replace(".", "", 1).isascii() and text.replace(".", "", 1).isdigit()


def _plain(name: str, facts: Sequence[Fact], text: str) -> Sentence:
    return Sentence(
        id=name, section=_SECTIONS[name.split(".", 1)[0]], text=text, facts=tuple(fact.key for fact in facts)
    )


_SECTIONS = {"summary": "summary", "look": "look", "works": "works", "included": "included", "price": "price"}
