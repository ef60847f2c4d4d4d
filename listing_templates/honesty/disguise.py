"""Words written so that a search does not find them, or an eye slips over them."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from functools import lru_cache

from confusable_homoglyphs import confusables

# Signs without width, and those that turn the direction of reading. The soft hyphen and the joiners inside emoji
# are ordinary; between two letters of ours none of these has a use.
_UNSEEN = re.compile("(?<=\\w)[\u200b\u200c\u200d\u2060\ufeff\u180e\u2061-\u2064]+(?=\\w)|[\u202a-\u202e\u2066-\u2069]")
_SPACED = re.compile(r"(?<!\w)(?:[^\W\d_][ .\-_*·|]){3,}[^\W\d_](?!\w)")
_WORD = re.compile(r"[^\W\d_]{2,}")
_DECORATED = 3  # letters of another style in a word before it counts as dressed up


def disguised(text: str) -> Iterator[tuple[int, int]]:
    """Yield where a seen text holds spaced letters, look-alikes, letters in fancy dress, or signs without width."""
    for found in _UNSEEN.finditer(text):
        yield found.start(), found.end()
    for found in _SPACED.finditer(text):
        # "W A S D" are keys; small letters that stand apart are a word pulled to pieces.
        if any(char.islower() for char in found[0]) or sum(char.isalpha() for char in found[0]) > 5:
            yield found.start(), found.end()
    if text.isascii():
        return
    for found in _WORD.finditer(text):
        if not found[0].isascii() and _is_dressed(found[0]):
            yield found.start(), found.end()


@lru_cache(maxsize=4096)
def _is_dressed(word: str) -> bool:
    plain = (unicodedata.normalize("NFKC", char) for char in word if not char.isascii())
    if sum(char.isascii() and len(char) == 1 for char in plain) >= _DECORATED:
        return True
    scripts = {_script(char) for char in word if char.isalpha()}
    if scripts <= {"LATIN"} or "LATIN" not in {*scripts, "LATIN" if _looks_latin(word) else ""}:
        return False
    return any(_script(char) in ("CYRILLIC", "GREEK") for char in word)


def _looks_latin(word: str) -> bool:
    """Return whether every letter that is not Latin looks like one that is."""
    return all(
        _script(char) == "LATIN" or bool(confusables.is_confusable(char, preferred_aliases=["latin"])) for char in word
    )


def _script(char: str) -> str:
    return unicodedata.name(char, "").split(" ", 1)[0]
