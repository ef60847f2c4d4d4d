"""Which thing a sentence speaks of: fitted on example sentences of which that is known, by meaning and by spelling."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from listing_templates.honesty.network import Network, fitted_network
from listing_templates.honesty.told_as import FOLDER

# Of these the state belongs to the topic: what is said of an opening is who did it.
WITH_STATE = frozenset({"opened", "liquid", "data"})


NOTHING = "nothing"  # the topic of a sentence that speaks of no thing of the unit
# Nobody looked, or nobody could: the buyer learns the same of what was found, and sellers say one for the other.
_SAME_TO_A_BUYER = {"not looked at": "cannot be seen"}


class Example(NamedTuple):
    """A sentence that tells a state ("untested") of the thing with this key; ``text``: number of the text it is of."""

    key: str
    state: str
    sentence: str
    text: str = ""

    @property
    def topic(self) -> str:
        """What the sentence speaks of: the key, with its state where that belongs to it."""
        return topic_of(self.key, self.state)


def topic_of(key: str, state: str) -> str:
    """Return the topic of a fact: its key, with the state where that belongs to it ("liquid:red")."""
    return f"{key}:{_SAME_TO_A_BUYER.get(state, state)}" if key in WITH_STATE else key


@cache
def examples_of(tag: str) -> tuple[Example, ...]:
    """Return the example sentences of a language, none where there is no file.

    ``<tag>.tsv`` was written for the purpose, ``<tag>_told.tsv`` holds what whole texts tell.
    """
    sources = (FOLDER / f"{tag}.tsv", FOLDER / f"{tag}_told.tsv")
    lines = [line for one in sources if one.is_file() for line in one.read_text(encoding="utf-8").splitlines()]
    return tuple(Example(*line.split("\t")) for line in lines if line)


class Topics:
    """The things of a class: ``labels`` are the topics, ``places`` their columns, ``of_noun`` the columns of each noun.

    Args:
        labels: The topics, sorted.
    """

    def __init__(self, labels: Sequence[str]) -> None:
        self.labels = tuple(labels)
        self.places = {topic: place for place, topic in enumerate(self.labels)}
        nouns = np.array([topic.split(":")[0] for topic in self.labels])
        self.of_noun = {str(noun): np.flatnonzero(nouns == noun) for noun in set(nouns)}


@lru_cache(maxsize=32)
def topics_of(tag: str, named: tuple[tuple[str, str], ...]) -> Topics | None:
    """Return the topics of a class in a language; None where there are no examples.

    Args:
        tag: The language.
        named: Pairs of a key and a name of its thing.
    """
    examples = examples_of(tag)
    if not examples:
        return None
    keys = {key for key, _ in named} | WITH_STATE
    return Topics(sorted({key for key, _ in named} | {one.topic for one in examples if one.key in keys}))


def chances_of_topics(
    sentences: Sequence[str], labels: Sequence[str], network: Network | None = None
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the chance of each topic that a sentence speaks of it, among these topics and none, and by itself.

    Args:
        sentences: As written.
        labels: The topics of a class; one that no example tells of has no chance.
        network: Another fit than the one that is kept.

    Returns:
        Twice chances, 0 to 1, shape (sentences, labels): of a sentence that speaks of one topic; and of each topic
        against all others by its spelling, so that a sentence may speak of several.
    """
    network = network or fitted_network("topics")
    places = {label: place for place, label in enumerate(network.labels)}
    known = [(at, places[label]) for at, label in enumerate(labels) if label in places]
    at, of = [one for one, _ in known], [one for _, one in known]
    among_all, by_itself = network.chances_and_alone(sentences)
    chances, alone = np.zeros((len(sentences), len(labels))), np.zeros((len(sentences), len(labels)))
    chances[:, at] = among_all[:, of] / (among_all[:, of].sum(axis=1) + among_all[:, places[NOTHING]])[:, None]
    alone[:, at] = by_itself[:, of]
    return chances, alone
