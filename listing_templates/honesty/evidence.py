"""Whether a text discloses a fact in words of its own.

A sentence discloses a fault when it speaks of the thing and says that something is wrong with it. It speaks of the
thing when it names it, or when enough of its words are those of the thing: of its name, its other names, or of the
symptom on record. A word that many things share weighs little.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from listing_templates.fact import Fact
from listing_templates.honesty.said import Said
from listing_templates.honesty.stated import has_one
from listing_templates.honesty.tokens import tokens_of
from listing_templates.honesty.told_as import KINDRED
from listing_templates.honesty.vocabulary import Vocabulary, normal, phrases
from listing_templates.honesty.words import Evidence as Wanted

# Nobody tried, looked or asked: which of them is said tells the buyer the same.
_NOT_CHECKED = frozenset({"untested", "not looked at", "lock not checked"})
# What a text must assert of a function in each recorded state; one of them is enough.
_ENOUGH: dict[str, frozenset[str]] = {
    "dead": frozenset({"dead", "fault"}),
    "impaired": frozenset({"impaired", "fault", "dead", "trouble"}),
    "removed": frozenset({"removed"}),
    "untested": _NOT_CHECKED,
    "third-party": frozenset({"third-party"}),
    "salvaged": frozenset({"salvaged"}),
    "unknown": frozenset({"unknown origin"}),
    "locked": frozenset({"locked"}),
    "not checked": _NOT_CHECKED,
    "covered": _NOT_CHECKED,
    "not looked at": _NOT_CHECKED,
}
_OBSERVED = frozenset({"dead", "impaired", "removed", "fault"})
_BROKEN_OFF = frozenset({"removed", "absent", "kind:chip", "kind:crack"})
# Praise, and what a negator right before a name makes of it: "no mould" denies the fault.
_DENIED = frozenset({"works", "tested", "clean", "absent"})
_UNSURE = frozenset({"data:not verified"})
_TOLD_BY_SIGNAL = frozenset({"function", "part", "lock", "surface"})
_NOBODY = frozenset({""})  # a label that no sentence holds
_SOON = 4  # words behind a name in which a denial is one of it
_ALIKE = 0.6  # share of a sentence's weighty words that a rewording has to keep
_ALIKE_BESIDE = 0.3  # the same in a sentence that names what it is about
_SAME_MM = 0.5
_NAMED = 1.0  # weight of words of a thing from which a sentence speaks of it


class _Pair(NamedTuple):
    """A sentence, perhaps with the next: where it starts, what it names and says, its weighty words."""

    start: int
    subjects: frozenset[str]
    signals: frozenset[str]
    words: frozenset[str]


@dataclass(frozen=True)
class Evidence:
    """The sentences of a text, in which disclosures are looked for; ``rivals`` are all the functions to
    disclose, ``lone_marks`` the marks that are the only ones of their kind."""

    sentences: tuple[Said, ...]
    vocabulary: Vocabulary
    rivals: frozenset[str]
    lone_marks: frozenset[str]

    def disclosed_at(self, fact: Fact) -> frozenset[int]:
        """Return where the sentences start that disclose the fact."""
        if fact.noun == "mark":
            return self._mark_disclosed(fact)
        if fact.noun == "combination":
            return self._reworded(fact.detail or "") or self._rests_told(fact)
        if fact.noun in ("opened", "liquid", "data", "battery_share"):
            return self._condition_disclosed(fact)
        if fact.noun not in _TOLD_BY_SIGNAL:
            # What can hurt somebody is disclosed by our own sentence only, until the reader has words for it.
            return frozenset() if fact.danger else self._reworded(f"{fact.label} {fact.detail or fact.state}")
        named = fact.thing
        plain = frozenset(
            said.start
            for said in self.sentences
            for statement in said.statements
            if named in statement.subjects and statement.signals & _ENOUGH[fact.state]
        )
        if fact.noun == "function":
            return plain or self._told_of(fact)
        return plain or self._told_beside(fact, named)

    def _told_beside(self, fact: Fact, named: str) -> frozenset[int]:
        """Find a part, lock or surface named in one sentence and told of in the same or in the next."""
        own = self.vocabulary.bags.get(named, frozenset())
        means = self.words(fact.detail or "") if fact.noun == "lock" else frozenset[str]()
        found = set()
        named_before = False
        for pair in self._pairs:
            names = self._names(named, pair)
            if fact.state == "locked" and means and len(pair.words & means) >= _ALIKE * len(means):
                found.add(pair.start)
            if pair.signals & _ENOUGH[fact.state] and (names or (named_before and pair.words & own)):
                found.add(pair.start)
            named_before = names
        return frozenset(found)

    def _names(self, key: str, pair: _Pair) -> bool:
        weights = self.vocabulary.weights[key.partition(":")[0]]
        own = self.vocabulary.bags.get(key, frozenset())
        label = self.vocabulary.labels.get(key, _NOBODY)
        if key in pair.subjects or label <= pair.words:
            return True
        return sum(weights.get(word, 1.0) for word in pair.words & own) >= _NAMED - 1e-9

    @cached_property
    def _led(self) -> tuple[_Pair, ...]:
        """Each sentence that only names, led in by one that only says: "Nobody tried these. NFC. Bluetooth"."""
        led: list[_Pair] = []
        above = frozenset[str]()
        for said in self.sentences:
            if said.leads:
                above = frozenset()
            elif said.names and not said.signals:
                led += [_Pair(said.start, said.subjects, above, self.words(said.sentence))] if above else []
            else:
                # "Nobody can see whether they work" speaks of what came before.
                goes_on = said.names or self.vocabulary.pronouns.search(said.sentence) is not None
                above = frozenset() if goes_on else said.signals
        return tuple(led)

    @cached_property
    def _pairs(self) -> tuple[_Pair, ...]:
        """Each sentence, together with the next one where that goes on about it ("It is dead.")."""
        following = [*self.sentences[1:], None][: len(self.sentences)]
        return tuple(
            self._pair(said, after) for said, after in zip(self.sentences, following, strict=True)
        )

    def _pair(self, said: Said, after: Said | None) -> _Pair:
        if said.leads:
            return _Pair(said.start, frozenset(), frozenset(), frozenset())
        words = self.words(said.sentence)
        if after is None or after.leads:
            return _Pair(said.start, said.subjects, said.signals, words)
        if self.vocabulary.pronouns.match(after.sentence) is not None:
            return _Pair(said.start, said.subjects, said.signals | after.signals, words | self.words(after.sentence))
        return _Pair(said.start, said.subjects, said.signals | (frozenset() if after.names else after.signals), words)

    def _told_of(self, fact: Fact) -> frozenset[int]:
        named = symptom = self.words(fact.detail or "") if fact.state == "impaired" else frozenset[str]()
        # "Reads all discs" names the drive by a word of its symptom "rejects discs", and tells of no fault.
        symptom = symptom - self.vocabulary.bags.get(fact.key, frozenset()) or symptom
        told = frozenset(
            pair.start
            for pair in (*self._pairs, *self._led)
            if self._about(fact, pair, named) and _is_told(fact, pair, symptom - self._denied(pair))
        )
        return told or (self._limited(fact) if fact.state == "impaired" else told)

    def _limited(self, fact: Fact) -> frozenset[int]:
        """Find where the thing alone is spoken of, something of it denied and nothing praised: "the pen draws no
        straight line" tells that it works poorly, whatever the words."""
        return frozenset(
            said.start
            for said in self.sentences
            for statement in said.statements
            if fact.key in statement.subjects
            and all(fact.key in name for name in statement.names)
            and not (statement.whole or statement.asks or statement.leads or statement.signals & _DENIED)
            and self._denies(self._behind(fact, statement.piece))
        )

    def _behind(self, fact: Fact, text: str) -> str:
        """Return the few words behind the name of a thing; "no mould, clear glass" denies nothing of the glass."""
        ends = [found.end for found in self.vocabulary.names.find(text) if fact.key in found.means]
        return " ".join(text[min(ends) if ends else 0 :].split()[:_SOON])

    def _denies(self, text: str) -> bool:
        words = [word.strip(".,:;()!") for word in text.split()]
        return any(word in self.vocabulary.negators or word in self.vocabulary.negators_after for word in words)

    def _denied(self, pair: _Pair) -> frozenset[str]:
        """Return the words that a praising sentence denies: "runs clean, no drift" tells of no drift."""
        if "works" not in pair.signals or pair.signals & _ENOUGH["impaired"]:
            return frozenset()
        said = next(said for said in self.sentences if said.start == pair.start)
        words, found = said.sentence.split(), set[str]()
        for place, word in enumerate(words):
            if word in self.vocabulary.negators:
                found |= self.words(" ".join(words[place + 1 : place + 3]))
            if word.rstrip(".") in self.vocabulary.negators_after:
                found |= self.words(" ".join(words[max(0, place - 2) : place]))
        return frozenset(found)

    def _about(self, fact: Fact, pair: _Pair, symptom: frozenset[str]) -> bool:
        if fact.key in pair.subjects:
            return True
        own = self.vocabulary.bags.get(fact.key, frozenset())
        if pair.words.isdisjoint(own) and pair.words.isdisjoint(symptom):
            return False
        weights = self.vocabulary.weights["function"]
        shares = [weights.get(word, 1.0) for word in pair.words & own]
        by_symptom = sum(min(weights.get(word, 1.0), 0.7) for word in (pair.words & symptom) - own)
        label = self.vocabulary.labels.get(fact.key, _NOBODY)
        if label <= pair.words:
            # "Lens contacts and body mount" holds the words of "body contacts" and names other things by each.
            others = (self.vocabulary.labels.get(key, frozenset()) for key in pair.subjects)
            return not label <= frozenset[str]().union(*others)
        if sum(shares) + by_symptom < _NAMED - 1e-9:
            return False
        if by_symptom or max(shares) == 1:
            return True
        # By words alone that it shares with others, a function whose name fits better is meant.
        return not any(
            sum(weights.get(word, 1.0) for word in pair.words & bag) > sum(shares)
            for key, bag in self.vocabulary.bags.items()
            if key in self.rivals and key != fact.key
        )

    def _mark_disclosed(self, fact: Fact) -> frozenset[int]:
        surface = fact.thing
        kind = f"kind:{fact.state}"
        places = set()
        named_before = False
        for pair, said in zip(self._pairs, self.sentences, strict=True):
            named = self._names(surface, pair)
            elsewhere = any(key.startswith("surface:") for key in pair.subjects)
            if kind in pair.signals and (named or (not elsewhere and (named_before or self._is_it(fact, said)))):
                places.add(pair.start)
            if named and self._is_kin(fact, said):
                places.add(pair.start)
            named_before = named
        return frozenset(places)

    def _is_kin(self, fact: Fact, said: Said) -> bool:
        """Return whether a mark is told as one of a kindred kind and of its size, or a piece as broken off."""
        if fact.state == "missing piece" and said.signals & _BROKEN_OFF:
            return True
        kindred = any(f"kind:{kind}" in said.signals for kind in KINDRED.get(fact.state, ()))
        return kindred and (_is_as_large(fact, said) or all(mark.size_mm is None for mark in fact.marks))

    def _is_it(self, fact: Fact, said: Said) -> bool:
        """Return whether a mark told without its place is this one: no other is of its kind, or its size is told."""
        if fact.key in self.lone_marks:
            return True
        return _is_as_large(fact, said)

    def words(self, text: str) -> frozenset[str]:
        """Return the base forms of the words of a text that carry weight."""
        if text not in self._words:
            self._words[text] = weighty(text, self.vocabulary)
        return self._words[text]

    @cached_property
    def _words(self) -> dict[str, frozenset[str]]:
        return {}

    def _condition_disclosed(self, fact: Fact) -> frozenset[int]:
        state = fact.way or "" if fact.noun == "battery_share" else fact.state
        wanted = self.vocabulary.words.evidence.get(f"{fact.noun}:{state}")
        if wanted is None:
            return frozenset()
        tag = self.vocabulary.tag
        # For each sentence, which of the lists it has a phrase of; None when it takes the disclosure back.
        has: list[frozenset[int] | None] = [
            None
            if wanted.never and phrases(wanted.never, tag).search(said.sentence) is not None
            else self._lists_met(wanted, fact.state, said)
            for said in self.sentences
        ]
        asked = [self._asks_for_last(wanted, said) for said in self.sentences]
        for width in (1, 2, 3):
            for place, said in enumerate(self.sentences):
                together = has[place : place + width]
                found = {n for one in together if one is not None for n in one}
                if not any(asked[place : place + width]):
                    found.add(len(wanted.every) - 1)
                if None not in together and len(found) == len(wanted.every):
                    return frozenset({said.start})
        return self._left_unsure(wanted.every[0]) if f"{fact.noun}:{state}" in _UNSURE else frozenset()

    def _lists_met(self, wanted: Wanted, state: str, said: Said) -> frozenset[int]:
        tag = self.vocabulary.tag
        met = {n for n, words in enumerate(wanted.every) if has_one(words, state, said.sentence, tag)}
        return frozenset(met | {0} if any(stem in said.sentence for stem in wanted.stems) else met)

    def _asks_for_last(self, wanted: Wanted, said: Said) -> bool:
        """Return whether a sentence makes the last list be asked for; "measured by nobody" does not."""
        if not wanted.beside:
            return True
        return not self._denies(said.sentence) and any(stem in said.sentence for stem in wanted.beside)

    def _left_unsure(self, about: tuple[str, ...]) -> frozenset[int]:
        """Find where a thing is spoken of as not checked, beside no function, part or lock."""
        named = phrases(about, self.vocabulary.tag)
        return frozenset(
            said.start
            for said in self.sentences
            if not said.names and said.signals & _NOT_CHECKED and named.search(said.sentence) is not None
        )

    def _rests_told(self, fact: Fact) -> frozenset[int]:
        """Find where what was observed is told beside the thing that it rests on: fewer of its words do there."""
        rests_on = (fact.way or "").split("\n")
        own = frozenset[str]().union(*(self.vocabulary.bags.get(key, frozenset()) for key in rests_on))
        words = self.words(fact.detail or "") - own
        return frozenset(
            pair.start
            for pair in self._pairs
            if fact.state == "observed"
            and not pair.subjects.isdisjoint(rests_on)
            and len(pair.words & words) >= max(_ALIKE_BESIDE * len(words), 1)
        )

    def _reworded(self, sentence: str) -> frozenset[int]:
        words = self.words(sentence)
        for place, said in enumerate(self.sentences):
            together = frozenset[str]().union(*(self.words(one.sentence) for one in self.sentences[place : place + 2]))
            if len(words & together) >= _ALIKE * len(words):
                return frozenset({said.start})
        return frozenset()


def disclosures(
    wanted: Sequence[Fact], sentences: Iterable[Said], vocabulary: Vocabulary
) -> Mapping[str, frozenset[int]]:
    """Return the key of each wanted fact that is disclosed -> where the sentences start that disclose it."""
    rivals = frozenset(fact.key for fact in wanted if fact.noun == "function")
    kinds = Counter(fact.state for fact in wanted if fact.noun == "mark")
    lone = frozenset(fact.key for fact in wanted if fact.noun == "mark" and kinds[fact.state] == 1)
    evidence = Evidence(tuple(sentences), vocabulary, rivals, lone)
    found = {fact.key: evidence.disclosed_at(fact) for fact in wanted}
    return {key: places for key, places in found.items() if places}


def telling(state: str) -> frozenset[str]:
    """Return what a text may assert of a function, part, lock or surface to tell that it is in this state."""
    return _ENOUGH.get(state, frozenset())


def weighty(text: str, vocabulary: Vocabulary) -> frozenset[str]:
    """Return the words of a text that carry weight, in their base form."""
    tokens = tokens_of(normal(text, vocabulary.words.rewrites), vocabulary.tag)
    return frozenset(token.keys[-1] for token in tokens if token.is_word and token.keys[-1] not in vocabulary.idle)


def _is_as_large(fact: Fact, said: Said) -> bool:
    """Return whether a sentence states the size of a mark."""
    sizes = {mark.size_mm for mark in fact.marks if mark.size_mm is not None}
    return any(abs(length - float(size)) <= _SAME_MM for size in sizes for length in said.lengths_mm)


def _is_told(fact: Fact, pair: _Pair, symptom: frozenset[str]) -> bool:
    if pair.signals & _ENOUGH[fact.state]:
        return True
    if pair.signals & _NOT_CHECKED and not pair.signals & _OBSERVED:
        # Of what is known, "not tested" tells nothing.
        return bool(pair.words & symptom) and fact.state == "impaired"
    if fact.state in ("dead", "removed") and "works" not in pair.signals:
        return bool(pair.signals & {"trouble", "absent", "impaired"})
    return bool(pair.words & symptom)
