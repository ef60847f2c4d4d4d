"""Which thing a sentence speaks of, by its likeness to example sentences of which that is known.

A sentence is like a thing as far as it is like its likest example and like all its examples together (cosines of
words and stretches of letters, rare ones weighing more; term weighting after Salton and Buckley 1988, by scikit-learn).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from sklearn.feature_extraction.text import TfidfVectorizer
from sklearn.preprocessing import normalize

from listing_templates.honesty.features import features_of
from listing_templates.honesty.network import Network, fitted_network
from listing_templates.honesty.told_as import FOLDER, told_as

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
    """The things of a class, each with the sentences and names that people use for it.

    ``labels`` are the topics, ``places`` their columns, ``of_noun`` the columns of each noun, ``of_state`` the column
    of each topic and state that examples tell of it.

    Args:
        known: A topic, as what its state is told ("" for a name), and a sentence or name of it.
    """

    def __init__(self, known: Sequence[tuple[str, str, str]]) -> None:
        rows = sorted(set(known))
        self.labels = tuple(sorted({topic for topic, _, _ in rows}))
        self.places = {topic: place for place, topic in enumerate(self.labels)}
        nouns = np.array([topic.split(":")[0] for topic in self.labels])
        self.of_noun = {str(noun): np.flatnonzero(nouns == noun) for noun in set(nouns)}
        told = sorted({(topic, state) for topic, state, _ in rows})
        self.of_state = {one: place for place, one in enumerate(told)}
        of = np.array([self.places[topic] for topic, _, _ in rows])
        of_told = np.array([self.of_state[topic, state] for topic, state, _ in rows])
        self._vectorizer = TfidfVectorizer(analyzer=features_of, sublinear_tf=True)
        examples = self._vectorizer.fit_transform([sentence for _, _, sentence in rows])
        self._firsts_told = np.searchsorted(of_told, np.arange(len(told)))
        self._firsts = np.searchsorted(np.array([self.places[topic] for topic, _ in told]), np.arange(len(self.labels)))
        belongs = sparse.csr_matrix((np.ones(len(of)), (of, np.arange(len(of)))))
        self._rows = len(rows)
        # Kept turned round and side by side: turning them takes longer than comparing a text with them.
        self._known = sparse.vstack([examples, normalize(belongs @ examples)]).T.tocsr()

    def likeness(self, sentences: Sequence[str]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return how like each sentence is to each topic, and to the likest example of each topic and state.

        Shapes (sentences, topics), 0 to 2, and (sentences, topics and states), 0 to 1.
        """
        read = self._vectorizer.transform(sentences)
        like = (read @ self._known).toarray()
        likest = np.maximum.reduceat(like[:, : self._rows], self._firsts_told, axis=1)
        of_topic = np.maximum.reduceat(likest, self._firsts, axis=1)
        return np.asarray(of_topic + like[:, self._rows :]), likest


@lru_cache(maxsize=32)
def topics_of(
    tag: str, named: tuple[tuple[str, str], ...], without: frozenset[str] = frozenset()
) -> Topics | None:
    """Return the topics of a class in a language; None where there are no examples.

    Args:
        tag: The language.
        named: Pairs of a key and a name of its thing.
        without: Numbers of texts whose examples are left out.
    """
    examples = [one for one in examples_of(tag) if not one.text or one.text not in without]
    if not examples:
        return None
    keys = {key for key, _ in named} | WITH_STATE
    told = [(one.topic, told_as(one.state), one.sentence) for one in examples if one.key in keys]
    return Topics([*((key, "", name) for key, name in named), *told])


def chances_of_topics(
    sentences: Sequence[str], labels: Sequence[str], network: Network | None = None
) -> NDArray[np.float64]:
    """Return the chance of each topic that a sentence speaks of it, by its meaning, among these topics and none.

    Args:
        sentences: As written.
        labels: The topics of a class; one that no example tells of has no chance.
        network: Another fit than the one that is kept.

    Returns:
        Chances, 0 to 1, shape (sentences, labels).
    """
    network = network or fitted_network("topics")
    places = {label: place for place, label in enumerate(network.labels)}
    known = [(at, places[label]) for at, label in enumerate(labels) if label in places]
    chances = network.chances(sentences)
    of_class = chances[:, [place for _, place in known]]
    all_of_class = of_class.sum(axis=1) + chances[:, places[NOTHING]]
    table = np.zeros((len(sentences), len(labels)))
    table[:, [at for at, _ in known]] = of_class / all_of_class[:, None]
    return table
