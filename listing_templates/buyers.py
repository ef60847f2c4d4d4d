"""Who should not buy a unit, said from its facts: the weightiest faults, what was not tested, locks, opening, look.

These sentences disclose nothing by themselves; every fact that they name has its disclosure elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from listing_templates.fact import Fact
from listing_templates.function_disclosures import FAULTS, LONGEST_LIST
from listing_templates.wording import Wording
from pricing.records.listing import Sentence

_OPEN = ("by us", "by others", "opened")
_POOR = ("C", "D")
_DECISIVE = 3


def buyers_of(facts: Sequence[Fact], wording: Wording) -> Iterable[Sentence]:
    """Yield a sentence for each kind of buyer who would be disappointed."""
    locked = [fact for fact in facts if fact.noun == "lock" and fact.state == "locked"]
    for_parts = [lock for lock in locked if lock.danger]
    if locked:
        labels = wording.listed([lock.label for lock in locked])
        if for_parts:
            yield _sentence("buyer.parts_only", for_parts, wording.sentence("buyer.parts_only"))
        else:
            said = wording.sentence("buyer.locked", count=len(locked), labels=labels)
            yield _sentence("buyer.locked", locked, said)
    functions = sorted((fact for fact in facts if fact.noun == "function"), key=lambda fact: -fact.weight)
    faulty = [fact for fact in functions if fact.state in FAULTS]
    untested = [
        fact
        for fact in functions
        if fact.state == "untested" and fact.weight >= _DECISIVE and fact.detail != "blocked"
    ]
    for name, alike in (("buyer.faulty", faulty), ("buyer.untested", untested)):
        if alike and not for_parts:
            weightiest = alike[:LONGEST_LIST]
            labels = wording.listed([fact.label for fact in weightiest])
            yield _sentence(name, weightiest, wording.sentence(name, labels=labels))
    for fact in facts:
        if fact.key == "opened" and fact.state in _OPEN:
            yield _sentence("buyer.opened", [fact], wording.sentence("buyer.opened"))
        elif fact.key == "grade" and fact.state in _POOR:
            yield _sentence("buyer.look", [fact], wording.sentence("buyer.look", grade=fact.state))


def _sentence(name: str, facts: Sequence[Fact], text: str) -> Sentence:
    return Sentence(id=name, section="buyers", text=text, facts=tuple(fact.key for fact in facts))
