"""What only seems told: a sentence with the right words that praises the thing, or talks round its fault."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from listing_templates.fact import Fact
from listing_templates.honesty.said import Said
from listing_templates.honesty.states import states_of
from listing_templates.honesty.told_as import GOOD
from listing_templates.honesty.ways import Talked

# Counted on texts of unseen hands: of 413 faults told by honest ones, the words of none stood only in sentences with
# this chance to talk round one, and of 1 only in such as have that chance to praise; of 23 misled about, of 15 and 1.
_TALKS = 0.3
_PRAISES = 0.8
_WORDS = 4  # of a sentence that can praise; in a list under "Faults" the heading says what is said
_CAN_BE_TALKED_ROUND = frozenset({"function", "part", "mark"})


def surely_told(
    told: Mapping[str, frozenset[int]], facts: Mapping[str, Fact], sentences: Sequence[Said], talked: Sequence[Talked]
) -> Mapping[str, frozenset[int]]:
    """Return of what the rules find told, key of fact -> where sentences start, that which is told for all we know."""
    talking = {said.start for said, one in zip(sentences, talked, strict=True) if _talks_round(one)}
    places = {place for key, found in told.items() if facts[key].noun == "function" for place in found}
    asked = [said for said in sentences if said.start in places and len(said.raw.split()) >= _WORDS]
    states = states_of([said.raw for said in asked], [said.signals for said in asked])
    praising = {said.start for said, state in zip(asked, states, strict=True) if state[GOOD] >= _PRAISES}
    excepting: dict[str, set[int]] = {}  # "all works but the fan" praises, and tells of the fan
    for said in asked:
        for key in (key for statement in said.statements for key in statement.excepted):
            excepting.setdefault(key, set()).add(said.start)
    kept = {}
    for key, found in told.items():
        left = found - talking if facts[key].noun in _CAN_BE_TALKED_ROUND else found
        if facts[key].noun == "function":
            left -= praising - excepting.get(key, set())
        if left:
            kept[key] = left
    return kept


def _talks_round(talked: Talked) -> bool:
    # Who says "apart from that perfect" has told "that".
    return bool(talked.chances) and talked.likely >= _TALKS and talked.likeliest != "rest praised"
