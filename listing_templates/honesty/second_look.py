"""A second look at what the rules did not find told: by likeness to sentences of which it is known what they tell.

The rules know words; people have more of them. A fact counts as told where a sentence speaks of its thing, among
all things of the class, and says of it what is recorded, both by likeness to examples. How much of each is enough was
fitted on honest texts whose telling sentences are known (``tests/fit_second_look.py``).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from listing_templates.fact import Fact
from listing_templates.honesty.clues import Look, are_enough
from listing_templates.honesty.meaning import vectors_of
from listing_templates.honesty.network import Network
from listing_templates.honesty.plain_words import PRAISE, as_told, in_own_words, only_praises, says_otherwise
from listing_templates.honesty.said import Said
from listing_templates.honesty.sentences import pieces_of
from listing_templates.honesty.states import states_of
from listing_templates.honesty.talk import LIKELY
from listing_templates.honesty.told_as import GOOD
from listing_templates.honesty.tongue import foreign_to
from listing_templates.honesty.topics import WITH_STATE, Topics, chances_of_topics, topic_of, topics_of
from listing_templates.honesty.vocabulary import Vocabulary, phrases
from listing_templates.honesty.ways import Talked

# Ways of talking round a fault: a sentence that does so tells of none, however like.
_TALK_ROUND = frozenset({"past", "quirk", "runtime", "by design", "cover", "usual"})
_PRAISE_COUNTS = 0.5  # chance of nothing bad from which words of praise are taken as such
_BELIEVED = 0.7  # chance of what is recorded from which a sentence says so, whatever its words are taken for
_BY_NETWORK = frozenset({"function", "data"})  # that know their states apart; origins of parts are one to them
_TALKS = 0.55  # chance of talking round a fault from which a sentence tells of none
_SHORT = 4  # words of a sentence that is read together with the next
_RANK = 4  # a sentence is only asked about the things that it is likest to, by words or meaning, and those it names
Telling = tuple[Fact, frozenset[int]]  # a fact, and where the sentences start that tell it


@dataclass(frozen=True)
class SecondLook:
    """The sentences of a text, read by likeness; ``talked`` says of each whether it talks round something.

    Attributes:
        told: Each fact that the rules find told, with where the sentences start that tell it.
        untold: The facts that a text has to tell and that the rules do not find told.
    """

    sentences: tuple[Said, ...]
    talked: tuple[Talked, ...]
    topics: Topics
    vocabulary: Vocabulary
    told: tuple[Telling, ...]
    untold: tuple[Fact, ...]
    state_network: Network | None = None
    topic_network: Network | None = None

    def looks(self, fact: Fact) -> Iterator[Look]:
        """Yield the sentences that may tell a fact, with what speaks for it."""
        topic = topic_of(fact.thing, fact.state)
        column = self.topics.places.get(topic)
        wanted = as_told(fact)
        if column is None or not wanted:
            return
        of_condition = fact.noun in WITH_STATE
        best_of_noun, likeliest_of_noun = self._best_of_noun[topic.split(":")[0]]
        telling_others = self._telling_others(column, fact.thing)
        like_own_words = self._like_own_words(fact)
        lead_of_untold = self._lead_of_untold(column)
        places = self._places(column, telling_others)
        unexplained = np.flatnonzero((lead_of_untold > 0) & ~telling_others).tolist()
        for row in sorted({*self._ranked.get(column, ()), *self._naming.get(topic, ()), *unexplained}):
            said, likeness, order = self._readings[row], self._likeness[row], self._order[row]
            named = topic in said.subjects
            states, of_piece = self._said[row][0], self._of_piece(row, column)
            # "We did not read the counter": the rules hear that it is dead, the network that nobody tried.
            believed = fact.noun in _BY_NETWORK and sum(states[one] for one in wanted) >= _BELIEVED
            if self._misleading[row] or (says_otherwise(fact, said) and not believed):
                continue
            rival = order[1] if order[0] == column else order[0]
            if states[GOOD] >= _PRAISE_COUNTS and only_praises(topic, said):
                continue
            is_best_of_noun = likeness[column] >= best_of_noun[row]
            likeliest = self._chances[row, column] >= likeliest_of_noun[row]
            if of_condition and (not (is_best_of_noun or likeliest) or (self._claims(fact, said) and not believed)):
                # "Never opened" is like "opened by us", and liker to "no sign of opening".
                continue
            yield Look(said.start, (
                float(likeness[column]), float(likeness[column] - likeness[rival]), float(order[0] == column),
                float(is_best_of_noun), sum(states[one] for one in wanted), states[GOOD],
                float(named), float(bool(said.signals & PRAISE)), float(len(said.raw) > 140),
                float(of_condition), float(self._chances[row, column]),
                sum(of_piece[one] for one in wanted), of_piece[GOOD],
                float(telling_others[row]), float(lead_of_untold[row]), float(places[row]),
                self.talked[row].likely if self.talked[row].chances else 0.0, float(like_own_words[row]),
            ))  # fmt: skip

    @cached_property
    def _best_of_noun(self) -> Mapping[str, tuple[NDArray[np.float64], NDArray[np.float64]]]:
        """Of each noun the greatest likeness and the greatest chance of its topics, each of shape (sentences)."""
        of_noun = self.topics.of_noun.items()
        return {noun: (self._likeness[:, at].max(axis=1), self._chances[:, at].max(axis=1)) for noun, at in of_noun}

    def _like_own_words(self, fact: Fact) -> NDArray[np.float32]:
        """Return how like each sentence, or its likest piece, is in meaning to the fact as we put it; -1 to 1."""
        words = in_own_words(fact, self.vocabulary.tag)
        if words in self._like_words_of_untold:
            return self._like_words_of_untold[words]
        return self._like_words([words])[words]

    @cached_property
    def _like_words_of_untold(self) -> Mapping[str, NDArray[np.float32]]:
        return self._like_words([in_own_words(fact, self.vocabulary.tag) for fact in self.untold])

    def _like_words(self, words: Sequence[str]) -> Mapping[str, NDArray[np.float32]]:
        """Return for each of some words how like each sentence, or its likest piece, is to them."""
        vectors, starts = self._vectors
        likest = np.maximum.reduceat(vectors @ vectors_of(words).T, starts)
        return dict(zip(words, likest.T, strict=True))

    @cached_property
    def _vectors(self) -> tuple[NDArray[np.float32], NDArray[np.intp]]:
        """The numbers of each sentence and of its pieces, and at which row those of a sentence start."""
        read = [(said.raw, *some) for said, some in zip(self._readings, self._pieces, strict=True)]
        return vectors_of([one for some in read for one in some]), np.cumsum([0, *map(len, read[:-1])])

    def _lead_of_untold(self, column: int) -> NDArray[np.float64]:
        """Return how much liker each sentence is to a topic than to all else that is untold; shape (sentences)."""
        first, likest, second = self._likest_untold
        lead: NDArray[np.float64] = self._likeness[:, column] - np.where(first == column, second, likest)
        return lead

    @cached_property
    def _likest_untold(self) -> tuple[NDArray[np.intp], NDArray[np.float64], NDArray[np.float64]]:
        """Of each sentence the column of the untold topic that it is likest to, that likeness, and the next."""
        untold = np.array(sorted(self._untold), dtype=np.intp)
        # Two more that are like nothing, where there are fewer than two.
        of_untold = np.hstack([self._likeness[:, untold], np.zeros((len(self._likeness), 2))])
        best = of_untold.argmax(axis=1)
        two = -np.sort(-of_untold, axis=1)[:, :2]
        return np.append(untold, (-1, -1))[best], two[:, 0], two[:, 1]

    @cached_property
    def _untold(self) -> frozenset[int]:
        topics = {topic_of(one.thing, one.state) for one in self.untold}
        return frozenset(self.topics.places[topic] for topic in topics if topic in self.topics.places)

    def _telling_others(self, column: int, thing: str) -> NDArray[np.bool_]:
        """Return of each sentence whether it, or its piece likeliest to speak of this topic, tells another thing."""
        telling = np.zeros(len(self._readings), dtype=bool)
        for row, told in self._telling:
            columns = [place for one, place in told if one != thing]
            best = self._best_pieces[row] if columns else None
            telling[row] = bool(columns) and (
                best is None or any(one is None or best[one] == best[column] for one in columns)
            )
        return telling

    @cached_property
    def _best_pieces(self) -> list[NDArray[np.intp] | None]:
        """Which piece of each sentence is likeliest to speak of each topic, shape (topics); None: it has no pieces."""
        return [of_pieces.argmax(axis=0) if len(of_pieces) else None for of_pieces in self._piece_chances]

    @cached_property
    def _telling(self) -> list[tuple[int, list[tuple[str, int | None]]]]:
        """Each sentence that tells something by the rules: the things, each with its column if it has one."""
        told_at: dict[int, list[tuple[str, int | None]]] = {}
        for fact, starts in self.told:
            column = self.topics.places.get(topic_of(fact.thing, fact.state))
            for start in starts:
                told_at.setdefault(start, []).append((fact.thing, column))
        return [(row, told_at[said.start]) for row, said in enumerate(self._readings) if said.start in told_at]

    def _places(self, column: int, telling_others: NDArray[np.bool_]) -> NDArray[np.float64]:
        """Return how much liker each sentence is to a topic than the likest of those that tell nothing else."""
        likeness = self._likeness[:, column]
        free = np.where(telling_others | self._misleading, 0.0, likeness)
        best = int(free.argmax())
        places: NDArray[np.float64] = likeness - free[best]
        free[best] = 0.0
        places[best] = likeness[best] - free.max()
        return places

    def _claims(self, fact: Fact, said: Said) -> bool:
        """Return whether a sentence claims what the record does not bear out ("never opened")."""
        return any(
            phrases(claim.phrases, self.vocabulary.tag).search(said.sentence) is not None
            for claim in self.vocabulary.words.claims
            if claim.fact == fact.key and fact.state not in claim.borne_out
        )

    @cached_property
    def _readings(self) -> list[Said]:
        """Each sentence as it is read.

        A question is read with its answer, a short sentence that asserts nothing with the next that names nothing:
        "Wi-Fi? Nobody tried.".
        """
        following = [*self.sentences[1:], None][: len(self.sentences)]
        return [_with_next(said, after) for said, after in zip(self.sentences, following, strict=True)]

    @cached_property
    def _misleading(self) -> NDArray[np.bool_]:
        """Whether a sentence tells nothing by itself, or not in the text's language, or talks round something."""
        tag = self.vocabulary.tag
        talks_round = [_talks_round(one) for one in self.talked]
        with_next = [one.raw != said.raw for one, said in zip(self._readings, self.sentences, strict=True)]
        return np.array([
            said.leads or said.asks or any(talks_round[row : row + 1 + with_next[row]])
            or foreign_to(tag, said.raw) is not None
            for row, said in enumerate(self._readings)
        ])  # fmt: skip

    def _of_piece(self, row: int, column: int) -> Mapping[str, float]:
        """Return what the piece of a sentence says that is likeliest to speak of a topic; else what the sentence does.

        In a list each piece names a thing of its own, and what is said of it may stand in the piece or beside it.
        """
        of_pieces = self._piece_chances[row]
        return self._said[row][1 + int(of_pieces[:, column].argmax()) if len(of_pieces) else 0]

    @cached_property
    def _pieces(self) -> list[tuple[str, ...]]:
        return [pieces_of(said.raw) for said in self._readings]

    @cached_property
    def _spoken_of(self) -> tuple[list[NDArray[np.float64]], list[NDArray[np.float64]]]:
        """Chance of each topic that a sentence speaks of it, and by itself.

        Each first for all sentences, shape (sentences, topics), then for the pieces of each, shape (pieces, topics).
        """
        read = [said.raw for said in self._readings] + [piece for some in self._pieces for piece in some]
        ends = np.cumsum([len(self._readings), *(len(some) for some in self._pieces)])[:-1]
        chances, alone = chances_of_topics(read, self.topics.labels, self.topic_network)
        return np.split(chances, ends), np.split(alone, ends)

    @property
    def _piece_chances(self) -> list[NDArray[np.float64]]:
        return self._spoken_of[0][1:]

    @cached_property
    def _chances(self) -> NDArray[np.float64]:
        """Of a sentence or of its likeliest piece; shape (sentences, topics)."""
        return _likeliest(*self._spoken_of[0])

    @cached_property
    def _likeness(self) -> NDArray[np.float64]:
        """Chances among all topics and of each by itself together, 0 to 2; shape (sentences, topics)."""
        return self._chances + _likeliest(*self._spoken_of[1])

    @cached_property
    def _order(self) -> list[list[int]]:
        return [[int(one) for one in row] for row in np.argsort(-self._likeness, axis=1)[:, :_RANK]]

    @cached_property
    def _ranked(self) -> Mapping[int, list[int]]:
        """Column of a topic -> the sentences that it is among the likest of."""
        ranked: dict[int, list[int]] = {}
        by_meaning = np.argsort(-self._chances, axis=1)[:, :_RANK]
        for row, order in enumerate(self._order):
            for column in {*order, *by_meaning[row].tolist()}:
                ranked.setdefault(column, []).append(row)
        return ranked

    @cached_property
    def _naming(self) -> Mapping[str, list[int]]:
        """Key of a thing -> the sentences that name it."""
        naming: dict[str, list[int]] = {}
        for row, said in enumerate(self._readings):
            for key in said.subjects:
                naming.setdefault(key, []).append(row)
        return naming

    @cached_property
    def _said(self) -> tuple[tuple[Mapping[str, float], ...], ...]:
        """What each sentence says of what it speaks of, and then what each of its pieces says."""
        pairs = list(zip(self._readings, self._pieces, strict=True))
        read = [(said, f"{said.heading}{words}") for said, pieces in pairs for words in (said.raw, *pieces)]
        states = iter(states_of([words for _, words in read], [said.signals for said, _ in read], self.state_network))
        return tuple(tuple(islice(states, 1 + len(pieces))) for _, pieces in pairs)


def _likeliest(whole: NDArray[np.float64], *of_pieces: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return for each sentence the greater of its own chances and those of its pieces; shape (sentences, topics)."""
    pairs = zip(whole, of_pieces, strict=True)
    return np.array([np.maximum(one, pieces.max(axis=0, initial=0.0)) for one, pieces in pairs])


def _talks_round(talked: Talked) -> bool:
    if talked.chances and talked.likely >= _TALKS:
        return True
    return talked.likely >= LIKELY and any(phrase.way in _TALK_ROUND for phrase in talked.phrases)


def _with_next(said: Said, after: Said | None) -> Said:
    """Return a sentence, with the next where that goes on about it."""
    if after is None or after.leads or after.asks:
        return said
    if said.asks:
        # A question asserts nothing; it names what the answer speaks of.
        named = tuple(replace(one, raw="", signals=frozenset()) for one in said.statements)
        return replace(said, raw=f"{said.raw} {after.raw}", statements=(*named, *after.statements))
    if len(said.raw.split()) <= _SHORT and not (said.signals or after.names):
        return replace(said, raw=f"{said.raw} {after.raw}")
    return said


def look_again(
    sentences: Sequence[Said],
    talked: Sequence[Talked],
    vocabulary: Vocabulary,
    told: Iterable[Telling],
    untold: Iterable[Fact],
) -> SecondLook | None:
    """Return the second look at a text; None for a language that has no examples."""
    topics = topics_of(vocabulary.tag, vocabulary.spoken)
    if topics is None or not sentences:
        return None
    return SecondLook(tuple(sentences), tuple(talked), topics, vocabulary, tuple(told), tuple(untold))


def told_after_all(
    untold: Iterable[Fact],
    sentences: Sequence[Said],
    talked: Sequence[Talked],
    vocabulary: Vocabulary,
    told: Iterable[Telling],
) -> Mapping[str, frozenset[int]]:
    """Return the key of each fact that a sentence tells after all -> where those sentences start."""
    facts = tuple(untold)
    second = look_again(sentences, talked, vocabulary, told, facts) if facts else None
    if second is None:
        return {}
    looks = [(fact.key, look) for fact in facts for look in second.looks(fact)]
    found: dict[str, frozenset[int]] = {}
    for (key, look), enough in zip(looks, are_enough([look for _, look in looks]), strict=True):
        if enough:
            found[key] = found.get(key, frozenset()) | {look.start}
    return found


