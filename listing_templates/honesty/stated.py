"""Whether a text states a recorded value: in a phrase, as a share in percent, or as a number in words."""

from __future__ import annotations

import re
from functools import cache, lru_cache

from num2words import num2words

from listing_templates.honesty.vocabulary import normal, phrases

# People of one language count in several ways: "soixante-treize", "septante-trois".
_VARIETIES = {"fr": ("fr", "fr_BE", "fr_CH")}


def has_one(words: tuple[str, ...], state: str, text: str, tag: str) -> bool:
    """Return whether ``normal`` text has one of these phrases; "{state}" in a phrase stands for the state on record."""
    number, filled, shares, in_percent = _filled(words, state)
    if shares and number.isdecimal() and _is_spelled(number, shares, text, tag):
        return True
    plain = text.replace("%", " %").replace("  %", " %") if "%" in text else text
    if in_percent:
        return any(re.search(r"(?<![\d.,])" + re.escape(word), plain) for word in filled)
    return phrases(filled, tag).search(plain) is not None


@lru_cache(maxsize=1024)
def _filled(words: tuple[str, ...], state: str) -> tuple[str, tuple[str, ...], tuple[str, ...], bool]:
    """Return a number as written, phrases with it, those of them that hold it, and whether any is in percent."""
    number = state.rstrip("0").rstrip(".") if "." in state else state
    filled = tuple(word.replace("{state}", number) for word in words)
    return number, filled, tuple(word for word in words if "{state}" in word), any("%" in word for word in filled)


def _is_spelled(number: str, shares: tuple[str, ...], text: str, tag: str) -> bool:
    """Return whether a share stands in a text in words: "sixty-two per cent"."""
    filled = tuple(
        share.replace("{state}", words) for words in _spelled(number, tag) for share in shares if "%" not in share
    )
    return bool(filled) and phrases(filled, tag).search(text) is not None


@cache
def _spelled(number: str, tag: str) -> tuple[str, ...]:
    """Return a number in words, in each way that people of this language count."""
    try:
        spelled = [normal(num2words(int(number), lang=variety), ()) for variety in _VARIETIES.get(tag, (tag,))]
    except NotImplementedError:  # a language that the library cannot count in
        return ()
    return tuple(dict.fromkeys(spelled))
