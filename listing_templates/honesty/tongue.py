"""Which language a text or a line is written in, told by its commonest words."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

_WORD = re.compile(r"[^\W\d_]+")
_LEAST = 3  # common words of another language before a line counts as written in it


@cache
def common_words() -> Mapping[str, frozenset[str]]:
    """Return the commonest words of each language, by its tag."""
    text = (files("listing_templates.honesty") / "common_words.toml").read_text(encoding="utf-8")
    return {tag: frozenset(words) for tag, words in tomllib.loads(text).items()}


def language_of(text: str) -> str:
    """Return the tag of the language whose common words the text has most of; English when it has none."""
    found = _counts(text)
    return max(found, key=lambda tag: (found[tag], tag == "en"))


def foreign_to(tag: str, line: str) -> str | None:
    """Return the language that a line is written in when it is plainly not this one, else None."""
    found = _counts(line)
    own = found.get(tag, 0)
    other = max((name for name in found if name != tag), key=lambda name: found[name])
    return other if found[other] >= _LEAST and found[other] > 2 * own else None


def _counts(text: str) -> dict[str, int]:
    words = _WORD.findall(text.casefold())
    return {tag: sum(word in common for word in words) for tag, common in common_words().items()}
