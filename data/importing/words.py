"""The words that a column may hold, and what each of them means.

Fixed words are taken in capitals or not; the options of a choice, as other texts of the user, only as written.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import partial

from pricing.records.device_class import CLEAN, COVERED, LOCK_STATES, ORIGINS, SOLD_AS, STATUSES


@dataclass(frozen=True, eq=False)
class Words:
    """The words of one kind of column.

    Attributes:
        meaning: Word -> what is kept of it, "" for not stated; None: the word is refused.
        expected: What a refused word should have been.
    """

    meaning: Callable[[str], str | None]
    expected: str


def fixed_words(meanings: Mapping[str, str]) -> Words:
    """Return words of which each has one meaning; "" means not stated."""
    return Words(partial(_of_fixed, meanings), f"one of {', '.join(meanings)}")


def option_words(options: Iterable[str]) -> Words:
    """Return words that are taken only as they are written here."""
    known = {option: option for option in options}
    return Words(known.get, f"one of {', '.join(known)}" if len(known) > 1 else "".join(known))


def mark_words(kinds: Iterable[str]) -> Words:
    """Return kinds of mark, joined by "+" when there are several; "none" and "covered" stand alone."""
    known = tuple(kinds)
    expected = f"{CLEAN}, {COVERED}, or kinds of mark joined by +: {', '.join(known)}"
    return Words(partial(_of_marks, frozenset(known)), expected)


def _of_fixed(meanings: Mapping[str, str], word: str) -> str | None:
    return meanings.get(word.lower())


def _of_marks(known: frozenset[str], word: str) -> str | None:
    found = sorted({kind.strip().lower() for kind in word.split("+")})
    if found in ([CLEAN], [COVERED]):
        return found[0]
    return "+".join(found) if known.issuperset(found) else None


def _as_written(word: str) -> str:
    return word


def _same(words: Iterable[str]) -> dict[str, str]:
    return {word: word for word in words}


ANY_WORDS = Words(_as_written, "any text")
YES_NO = fixed_words(_same(("yes", "no")))
STATUS_WORDS = fixed_words(_same(STATUSES))
ORIGIN_WORDS = fixed_words(_same(ORIGINS) | {"unknown": ""})
LOCK_WORDS = fixed_words(_same(LOCK_STATES))
SOLD_AS_WORDS = fixed_words(_same(SOLD_AS))
# A seller who says only "opened" does not say who did it; it was not us.
OPENED_WORDS = fixed_words({
    "no sign": "no sign", "no": "no sign", "by us": "by us", "by others": "by others", "yes": "by others",
    "not known": "",
})  # fmt: skip
CONTRACT_TEXTS: Mapping[str, Words] = {
    "channel": ANY_WORDS,
    "country": ANY_WORDS,
    "opened": OPENED_WORDS,
    "price_includes_postage": YES_NO,
}
