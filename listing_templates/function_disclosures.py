"""Disclosures about functions: faults one by one, what was not tested in lists that read well aloud."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from listing_templates.class_texts import kin_words
from listing_templates.fact import Fact
from listing_templates.wording import Wording
from pricing.records.device_class import DeviceClass
from pricing.records.listing import Sentence

FAULTS = ("dead", "removed", "impaired")
LONGEST_LIST = 8


def function_disclosures(
    facts: Iterable[Fact], device_class: DeviceClass, wording: Wording
) -> tuple[Sentence, ...]:
    """Return a sentence for each faulty function, then those that list what was not tested.

    Hidden and dangerous ones stand in the section "first"; what a dead function kept from being tested is said with it.
    """
    functions = [fact for fact in facts if fact.noun == "function"]
    faults = sorted((fact for fact in functions if fact.state in FAULTS), key=_urgency)
    told_with_gate = {fact.key for fact in functions if fact.detail == "blocked" and fact.state == "untested"}
    sentences = [fault_sentence(fault, functions, device_class, wording) for fault in faults]
    rest = [fact for fact in functions if fact.state == "untested" and fact.key not in told_with_gate]
    for hidden in (True, False):
        for reason in ("told", "opened", "restart"):
            alike = [f for f in rest if f.hidden is hidden and _reason(f) == reason]
            sentences.extend(_untested(alike, reason, hidden, device_class, wording))
    return tuple(sentences)


def fault_sentence(
    fault: Fact, functions: Sequence[Fact], device_class: DeviceClass, wording: Wording
) -> Sentence:
    """Return the disclosure of one fault: what, since when known, what it means, and what it kept untested."""
    blocked = [f for f in functions if f.detail == "blocked" and f.because == fault.key]
    name = "function.left" if fault.detail == "left in place" else f"function.{fault.state}"
    when = "" if fault.day is None else wording.phrase("when", day=wording.day(fault.day))
    symptom = fault.detail or wording.phrase("no_symptom")
    first = wording.sentence(name, label=wording.opening(fault.label), when=when, symptom=symptom)
    pieces = [first, _consequence(fault, device_class)]
    # Who cannot call can hurt nobody by that; what it means in an emergency stands in the consequence.
    if fault.danger and fault.kin != "radio":
        pieces.append(wording.phrase("caution_cell" if fault.kin == "cell" else "caution"))
    if blocked:
        pieces.append(wording.phrase("blocked", labels=wording.listed([f.label for f in blocked])))
    return Sentence(
        id=name,
        section="first" if fault.hidden or fault.danger else "faults",
        text=" ".join(piece for piece in pieces if piece),
        facts=(fault.key, *(f.key for f in blocked)),
        disclosure=True,
        hidden=fault.hidden,
    )


def untested_sentence(facts: Sequence[Fact], wording: Wording) -> str:
    """Return one plain sentence that says that these functions were not tested."""
    return wording.sentence("function.untested", group="", labels=wording.listed([fact.label for fact in facts]))


def grouped(facts: Sequence[Fact]) -> list[tuple[str | None, list[Fact]]]:
    """Return the facts as one list without name, or by kin when one list would be too long to read aloud."""
    if len(facts) <= LONGEST_LIST:
        return [(None, list(facts))] if facts else []
    by_kin: dict[str, list[Fact]] = {}
    for fact in facts:
        by_kin.setdefault(fact.kin or "other", []).append(fact)
    return [(kin_words(kin), alike) for kin, alike in by_kin.items()]


def _urgency(fault: Fact) -> tuple[bool, int]:
    return (not fault.hidden, -fault.weight)


def _reason(fact: Fact) -> str:
    return fact.detail if fact.detail in ("opened", "restart") else "told"


def _untested(
    facts: Sequence[Fact], reason: str, hidden: bool, device_class: DeviceClass, wording: Wording
) -> Iterable[Sentence]:
    name = {"told": "function.untested", "opened": "function.void", "restart": "function.restart"}[reason]
    untested = {fact.name for fact in facts}
    groups = grouped(facts)
    for place, (kin, alike) in enumerate(groups):
        group = "" if kin is None else wording.phrase("group", kin=wording.text(kin))
        pieces = [wording.sentence(name, group=group, labels=wording.listed([f.label for f in alike]))]
        if hidden and place == 0:
            series = len(groups) > 1
            pieces.append(wording.phrase("not_visible_series" if series else "not_visible", count=len(facts)))
        pieces.extend(dict.fromkeys(_open_question(f, untested, device_class) for f in alike))
        yield Sentence(
            id=name,
            section="first" if hidden else "untested",
            text=" ".join(piece for piece in pieces if piece),
            facts=(*(f.key for f in alike), *(("opened",) if reason == "opened" else ())),
            disclosure=True,
            hidden=hidden,
        )


def _open_question(fact: Fact, untested: set[str], device_class: DeviceClass) -> str:
    """Return what not testing a weighty function means; "" where it only follows from another in the list."""
    function = device_class.functions_by_name.get(fact.name)
    if fact.weight < 3 or function is None or untested.intersection(function.requires):
        return ""
    return _consequence(fact, device_class)


def _consequence(fact: Fact, device_class: DeviceClass) -> str:
    function = device_class.functions_by_name.get(fact.name)
    said = None if function is None else getattr(function.consequence, fact.state)
    return _as_sentence(said or "")


def _as_sentence(text: str) -> str:
    plain = text.strip()
    return plain if not plain or plain[-1] in ".!?" else plain + "."
