"""What the rules only seem to find: a fault told in a sentence that praises, a claim in one about something else.

The rules know words and where they stand; the networks know what a sentence says as a whole.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from listing_templates.fact import Fact
from listing_templates.honesty.said import Said
from listing_templates.honesty.sentences import pieces_of
from listing_templates.honesty.states import states_of
from listing_templates.honesty.told_as import GOOD
from listing_templates.honesty.topics import Topics, chances_of_topics
from listing_templates.honesty.vocabulary import Vocabulary
from listing_templates.honesty.ways import Talked
from pricing.records.finding import Finding

# Counted on texts of unseen hands: of 413 faults told by honest ones, the words of none stood only in sentences with
# this chance to talk round one, and of 1 only in such as have that chance to praise; of 23 misled about, of 15 and 1.
_TALKS = 0.3
_PRAISES = 0.8
_SPEAKS_OF = 0.05  # chance of a thing below which a sentence with its name claims nothing of it
_WORDS = 4  # of a sentence that can praise
_CAN_BE_TALKED_ROUND = frozenset({"function", "part", "mark"})


def surely_told(
    told: Mapping[str, frozenset[int]],
    facts: Mapping[str, Fact],
    sentences: Sequence[Said],
    talked: Sequence[Talked],
    vocabulary: Vocabulary,
) -> Mapping[str, frozenset[int]]:
    """Return of what the rules find told, key of fact -> where sentences start, that which is told for all we know."""
    talking = {said.start for said, one in zip(sentences, talked, strict=True) if _talks_round(one)}
    places = {place for key, found in told.items() if facts[key].noun == "function" for place in found}
    asked = [said for said in sentences if said.start in places and _can_praise(said, vocabulary)]
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


def surely_claimed(findings: Iterable[Finding], sentences: Sequence[Said], topics: Topics | None) -> Iterator[Finding]:
    """Yield the claims that the rules find against the record, but those in sentences that speak of something else.

    One name may mean several things. A sentence that goes on about what the one before named is not asked.
    """
    found = tuple(findings)
    places = {one.start for one in found}
    asked = [said for said in sentences if said.start in places]
    named = {said.start: _named_in(said) for said in asked}
    spoken = _Spoken(asked, topics)
    for one in found:
        if one.fact not in named.get(one.start, ()) or spoken.chance(one.start, one.fact) >= _SPEAKS_OF:
            yield one


def _can_praise(said: Said, vocabulary: Vocabulary) -> bool:
    """Return whether a sentence says something itself; in a list under "Faults" the heading does."""
    return len(said.raw.split()) >= _WORDS and vocabulary.signals.search(said.sentence) is not None


def _named_in(said: Said) -> frozenset[str]:
    named = (statement.subjects for statement in said.statements if not statement.borrowed)
    return frozenset[str]().union(*named)


class _Spoken:
    """What some sentences speak of: as a whole or in the likeliest of their pieces."""

    def __init__(self, sentences: Sequence[Said], topics: Topics | None) -> None:
        self._topics = topics
        self._chances: dict[int, NDArray[np.float64]] = {}
        if topics is None or not sentences:
            return
        read = [(said.start, text) for said in sentences for text in (said.raw, *pieces_of(said.raw))]
        chances = np.maximum(*chances_of_topics([text for _, text in read], topics.labels))
        for (start, _), row in zip(read, chances, strict=True):
            self._chances[start] = np.maximum(self._chances.get(start, 0.0), row)

    def chance(self, start: int, key: str) -> float:
        """Return the chance that the sentence that starts there speaks of a thing; 1 where nothing is known of it."""
        column = None if self._topics is None else self._topics.places.get(key)
        return 1.0 if column is None or start not in self._chances else float(self._chances[start][column])


def _talks_round(talked: Talked) -> bool:
    # Who says "apart from that perfect" has told "that".
    return bool(talked.chances) and talked.likely >= _TALKS and talked.likeliest != "rest praised"
