"""Finding our own sentences again in a text, whatever format escaped them.

Two texts are compared by their letters and digits alone, so a Markdown backslash or another quotation mark does not
matter. A match counts only when it begins and ends where a sentence does: words put before it change its sense.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from listing_templates.honesty.visible import Visible
from pricing.records.listing import Sentence

_FULL_STOPS = ".!?…"
_SENTENCE_ENDS = ".!?:;…"


@dataclass(frozen=True)
class OwnSentences:
    """Which of our sentences stand in a text, and the text with them blanked out."""

    found: tuple[Sentence, ...]
    missing: tuple[Sentence, ...]
    rest: str

    @property
    def is_ours(self) -> bool:
        """Whether most of our sentences stand in the text: it is our listing, perhaps edited."""
        return len(self.found) > len(self.missing)


def find_own(seen: Visible, sentences: Iterable[Sentence]) -> OwnSentences:
    """Return our sentences that stand in the text word for word; each place serves one sentence."""
    letters, places = _letters(seen.text)
    taken = bytearray(len(letters))
    rest = list(seen.text)
    found: list[Sentence] = []
    missing: list[Sentence] = []
    longest_first = sorted(sentences, key=lambda sentence: -len(sentence.text))
    for sentence in longest_first:
        wanted, _ = _letters(sentence.text)
        start = _place_of(wanted, letters, places, taken, seen.text) if wanted else -1
        if start < 0:
            # A sentence without a letter cannot be compared, so it cannot be missed either.
            (missing if wanted else found).append(sentence)
            continue
        found.append(sentence)
        end = start + len(wanted)
        taken[start:end] = b"\x01" * (end - start)
        first, last = places[start], places[end - 1] + 1
        rest[first:last] = "\n" * (last - first)
    return OwnSentences(tuple(found), tuple(missing), "".join(rest))


def _place_of(wanted: str, letters: str, places: list[int], taken: bytearray, text: str) -> int:
    start = letters.find(wanted)
    while start >= 0:
        end = start + len(wanted)
        free = not any(taken[start:end])
        if free and _begins(text, places[start]) and _ends(text, places[end - 1] + 1):
            return start
        start = letters.find(wanted, start + 1)
    return -1


def _begins(text: str, place: int) -> bool:
    for char in reversed(text[max(0, place - 80) : place]):
        if char == "\n" or char in _FULL_STOPS:
            return True
        # "Possibly: " before a sentence changes its sense, whatever sign stands between.
        if char.isalnum() or char in ",:;":
            return False
    return True


def _ends(text: str, place: int) -> bool:
    for char in text[place : place + 80]:
        if char == "\n" or char in _SENTENCE_ENDS:
            return True
        if char.isalnum() or char == ",":
            return False
    return True


def _letters(text: str) -> tuple[str, list[int]]:
    """Return the letters and digits of a text in one spelling, and the place of each in it."""
    places = [place for place, char in enumerate(text) if char.isalnum()]
    spelled = [_spelled(text[place]) for place in places]
    letters = "".join(spelled)
    if len(letters) == len(places):
        return letters, places
    return letters, [place for place, plain in zip(places, spelled, strict=True) for _ in plain]


@lru_cache(maxsize=4096)
def _spelled(char: str) -> str:
    return unicodedata.normalize("NFKC", char).casefold()
