"""Words of a text, each with the spellings under which a phrase may know it."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

import simplemma

# A run of blanked letters is one token that no phrase knows; every other sign stands alone, so that a comma or a
# bracket keeps the words around it apart.
BLANKED = "\x01"
_TOKEN = re.compile(rf"[^\W_]+|{BLANKED}+|[^\s]")
_LONGEST = 40  # letters of a word that is still looked up
# Participles agree with their noun, and their base form is now the verb, now another participle: "testée" is also
# known as "testé", "fournies" as "fourni"; "probadas" as "probado", "rota" as "roto". Shorter words are mostly others
# ("vie", "plus", "cada"). Spanish infinitives carry their pronouns: "probarlo" is also known as "probar".
_AGREES: Mapping[str, tuple[tuple[re.Pattern[str], str], ...]] = MappingProxyType(
    {
        "fr": ((re.compile(r"(?<=[a-z]{2}[eiu])(?:es?|s)$"), ""),),
        "es": (
            (re.compile(r"(?<=[a-z]{2}[ai]d)(?:as?|os)$"), "o"),
            (re.compile(r"^(muert|rot|abiert|puest|suelt|vist|hech|(?:des)?cubiert|intact|floj)(?:as?|os)$"), r"\1o"),
            (re.compile(r"(?<=[a-z][aei]r)(?:l[aeo]s?|se|nos)$"), ""),
        ),
    }
)


@dataclass(frozen=True, slots=True)
class Token:
    """A word or sign: its place, its spellings (as written, then its base form), and whether it is a word.

    A blanked name counts as a word, so that a gap in a phrase can hold it ("took the camera out").
    """

    keys: tuple[str, ...]
    start: int
    end: int
    is_word: bool


class Tokens(tuple[Token, ...]):
    """The tokens of a text in order, and for each of their spellings the tokens that have it."""

    numbers: dict[str, list[int]]


@lru_cache(maxsize=8192)
def tokens_of(text: str, tag: str) -> Tokens:
    """Return the tokens of a text in small letters, read in the language of this tag."""
    tokens = Tokens(
        Token(spellings(found[0], tag), found.start(), found.end(), found[0][0].isalnum() or found[0][0] == BLANKED)
        for found in _TOKEN.finditer(text)
    )
    tokens.numbers = {}
    for number, token in enumerate(tokens):
        for key in token.keys:
            tokens.numbers.setdefault(key, []).append(number)
    return tokens


@lru_cache(maxsize=32768)
def spellings(word: str, tag: str) -> tuple[str, ...]:
    """Return how a phrase may spell this word: as it is, and its base form; both without accents.

    A base form that begins with another letter ("better", "good") is another word to us. The base form comes last.
    """
    plain = without_accents(word)
    if len(word) < 3 or len(word) > _LONGEST or not word.isalpha():
        return (plain,)
    lemma = without_accents(simplemma.lemmatize(word, lang=tag).casefold())
    base = lemma if lemma[:1] == plain[:1] else plain
    agreed = plain
    for ending, instead in _AGREES.get(tag, ()):
        agreed = ending.sub(instead, agreed)
    known = (plain,) if agreed == plain else (plain, agreed)
    return known if known[-1] == base else (*known, base)


@lru_cache(maxsize=32768)
def without_accents(word: str) -> str:
    """Return the word as somebody writes it whose keyboard has no accents."""
    if word.isascii():
        return word
    return "".join(char for char in unicodedata.normalize("NFKD", word) if not unicodedata.combining(char))
