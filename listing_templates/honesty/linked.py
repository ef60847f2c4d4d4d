"""What a reader sees of linked data: the name and the description of its outermost object, as lines."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator

from listing_templates.honesty.visible import Visible

SHOWN = ("name", "description")

_TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"|[{}\[\]:,]')
# A sign beyond the first 65,536 is written as two escapes in a row.
_SIGN = re.compile(
    r"(?:\\u[dD][89abAB][0-9a-fA-F]{2}\\u[dD][c-fC-F][0-9a-fA-F]{2})|\\u[0-9a-fA-F]{4}|\\.|[^\\]", re.DOTALL
)


def as_linked_data(text: str) -> Visible | None:
    """Return what is seen of a JSON document with a ``@context``, each character with its place; None: it is none."""
    if not text.lstrip().startswith("{") or '"@context"' not in text:
        return None
    try:
        document = json.loads(text)
    except (ValueError, RecursionError):
        return None
    if not all(isinstance(document.get(key, ""), str) for key in SHOWN):
        return None
    seen: list[str] = []
    places: list[int] = []
    ends: list[int] = []
    for start, end in _shown_strings(text):
        for sign in _SIGN.finditer(text, start, end):
            shown = json.loads(f'"{sign[0]}"') if sign[0].startswith("\\") else sign[0]
            seen.append(shown)
            places.extend([sign.start()] * len(shown))
            ends.extend([sign.end()] * len(shown))
        seen.append("\n")
        places.append(end)
        ends.append(end + 1)
    return Visible("".join(seen), places, ends)


def _shown_strings(text: str) -> Iterator[tuple[int, int]]:
    """Yield where the strings that are shown start and end, without their quotation marks."""
    depth = 0
    key, is_value = "", False
    for token in _TOKEN.finditer(text):
        sign = token[0]
        if sign in "{[":
            depth += 1
        elif sign in "}]":
            depth -= 1
        elif depth == 1 and sign in ":,":
            is_value = sign == ":"
        elif depth == 1 and not is_value:
            key = json.loads(sign)
        elif depth == 1 and key in SHOWN:
            yield token.start() + 1, token.end() - 1
