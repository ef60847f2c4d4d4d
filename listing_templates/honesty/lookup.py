"""Many phrases looked for at once in the words of a text."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from listing_templates.honesty.tokens import Token, Tokens, spellings, tokens_of

GAP = "*"  # in a phrase: up to three words that do not matter
_WIDEST_GAP = 3
_ENDING = "~"  # before a word of a phrase: also as the end of a longer word
_NOTHING = frozenset[str]()


class Found(NamedTuple):
    """A phrase in a text: where it starts and ends, and what it means."""

    start: int
    end: int
    means: frozenset[str]


@dataclass(slots=True)
class _Node:
    after: dict[str, _Node] = field(default_factory=dict)
    means: frozenset[str] = frozenset()


class Lookup:
    """Phrases and what each means; the longest at a place wins.

    A word of a phrase is met by the same word and by every inflection of it, if the phrase writes its base form: the
    phrase "scratch" meets "scratched", the phrase "tested" only "tested". ``*`` stands for up to three words,
    ``~word`` also for the end of a longer word.

    Args:
        meanings: Phrase in ``normal`` spelling -> what it means.
        tag: Language of the phrases.
        inflected: Meet other inflections of the last word as well, and compounds written as one word or as several.
    """

    def __init__(self, meanings: Mapping[str, Iterable[str]], tag: str, *, inflected: bool = False) -> None:
        self._root = _Node()
        self._endings: dict[str, str] = {}
        self._tag = tag
        for phrase, means in meanings.items():
            words = [
                phrase[token.start : token.end] if phrase[token.start] == GAP else token.keys[0]
                for token in tokens_of(phrase.replace(_ENDING, ""), tag)
            ]
            for marked in (word for word in phrase.split() if word.startswith(_ENDING)):
                ending = spellings(marked[1:], tag)[0]
                self._endings[ending] = ending
            for variant in _variants(words, tag) if inflected else (tuple(words),):
                self._add(variant, frozenset(means))

    def _add(self, words: Sequence[str], means: frozenset[str]) -> None:
        node = self._root
        for word in words:
            node = node.after.setdefault(word, _Node())
        node.means |= means

    def find(self, text: str) -> list[Found]:
        """Return each phrase in ``normal`` text, in order, without overlap."""
        return list(self._found(tokens_of(text, self._tag)))

    def search(self, text: str) -> Found | None:
        """Return the first phrase in ``normal`` text, or None."""
        return next(self._found(tokens_of(text, self._tag)), None)

    def match(self, text: str) -> Found | None:
        """Return the phrase with which ``normal`` text begins, or None."""
        tokens = tokens_of(text, self._tag)
        end, means = self._longest(self._root, tokens, 0)
        return Found(tokens[0].start, tokens[end - 1].end, means) if end > 0 else None

    def _found(self, tokens: Tokens) -> Iterator[Found]:
        last = 0
        for place in self._beginnings(tokens):
            if place < last:
                continue
            end, means = self._longest(self._root, tokens, place)
            if end > place:
                yield Found(tokens[place].start, tokens[end - 1].end, means)
                last = end

    def _beginnings(self, tokens: Tokens) -> Iterable[int]:
        """Return the tokens with which a phrase may begin: of most texts only a few."""
        firsts = self._root.after
        if self._endings or GAP in firsts:
            return range(len(tokens))
        known = tokens.numbers.keys() & firsts.keys()
        return sorted({number for key in known for number in tokens.numbers[key]})

    def _longest(self, node: _Node, tokens: Sequence[Token], place: int) -> tuple[int, frozenset[str]]:
        """Return where the longest phrase through ``node`` ends, and what it means; 0 when there is none.

        Of equal ones, met by the word as it is and by its base form, both are meant.
        """
        end, means = (place, node.means) if node.means else (0, _NOTHING)
        after = node.after
        if not after:
            return end, means
        if place < len(tokens):
            for key in self._keys(tokens[place]):
                if key in after:
                    further, meant = self._longest(after[key], tokens, place + 1)
                    if further > end:
                        end, means = further, meant
                    elif further == end and meant:
                        means |= meant
        if GAP in after:
            for skipped in range(_WIDEST_GAP + 1):
                if not all(token.is_word for token in tokens[place : place + skipped]):
                    break
                further, meant = self._longest(after[GAP], tokens, place + skipped)
                if further > end:
                    end, means = further, meant
        return end, means

    def _keys(self, token: Token) -> Iterable[str]:
        if not self._endings or not token.is_word:
            return token.keys
        return [*token.keys, *(e for e in self._endings if any(key.endswith(e) and key != e for key in token.keys))]


def _variants(words: Sequence[str], tag: str) -> Iterator[tuple[str, ...]]:
    """Yield the words, with the last and with all in their base form, and written as one."""
    bases = [spellings(word, tag)[-1] for word in words]
    apart = dict.fromkeys((tuple(words), (*words[:-1], *bases[-1:]), tuple(bases)))
    yield from apart
    yield from (("".join(variant),) for variant in apart if len(variant) > 1)
