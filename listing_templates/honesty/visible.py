"""What a reader sees of a text, each character with its place in the text as given."""

from __future__ import annotations

import html
import re
from collections.abc import Sequence
from dataclasses import dataclass

_MARKUP = re.compile(
    r"<!--.*?-->|<!doctype[^>]*>|<(script|style|head|template)\b.*?</\1\s*>|</?([a-z][a-z0-9]*)\b[^>]*>"
    r"|&(?:#\d{1,7}|#x[0-9a-f]{1,6}|[a-z][a-z0-9]{1,30});",
    re.IGNORECASE | re.DOTALL,
)
_TAG = re.compile(r"</?(?:html|body|p|div|ul|ol|li|h[1-6]|br|span|section|main|strong|b|em|i|table)\b", re.IGNORECASE)
_INLINE = frozenset({"a", "abbr", "b", "bdi", "bdo", "cite", "code", "em", "font", "i", "mark", "s", "small", "span",
                     "strong", "sub", "sup", "time", "u"})  # fmt: skip
_HEADING = re.compile(r"h[1-6]$", re.IGNORECASE)


@dataclass(frozen=True)
class Visible:
    """Text as seen, with ``places[i]`` the place of character i in the given text and ``ends[i]`` where it ends."""

    text: str
    places: Sequence[int]
    ends: Sequence[int]

    def place(self, start: int, end: int) -> tuple[int, int]:
        """Return start and end in the given text for a stretch of the seen one (at least one character long)."""
        return self.places[start], self.ends[end - 1]


def as_written(text: str) -> Visible:
    """Return plain text or Markdown: every character is taken as seen."""
    return Visible(text, range(len(text)), range(1, len(text) + 1))


def without_markup(text: str) -> Visible:
    """Return what is left of HTML when tags, comments, scripts, styles and the head are not shown.

    A tag that starts a block becomes a line break; headings and list items get the sign that a plain text
    would give them, so that both are read alike.
    """
    seen: list[str] = []
    places: list[int] = []
    ends: list[int] = []

    def add(shown: str, start: int, end: int) -> None:
        seen.extend(shown)
        places.extend([start] * len(shown))
        ends.extend([end] * len(shown))

    last = 0
    for match in _MARKUP.finditer(text):
        _add_plain(text, last, match.start(), seen, places, ends)
        last = match.end()
        if match[0].startswith("&"):
            add(html.unescape(match[0]), match.start(), match.end())
        elif match[2] is None:
            add("\n", match.start(), match.end())
        elif match[2].lower() not in _INLINE:
            opens = not match[0].startswith("</")
            sign = "# " if _HEADING.match(match[2]) else "- " if match[2].lower() == "li" else ""
            add("\n" + sign if opens else "\n", match.start(), match.end())
    _add_plain(text, last, len(text), seen, places, ends)
    return Visible("".join(seen), places, ends)


def has_tags(text: str) -> bool:
    """Return whether the text holds a tag that HTML is usually written with."""
    return _TAG.search(text) is not None


def _add_plain(text: str, start: int, end: int, seen: list[str], places: list[int], ends: list[int]) -> None:
    # Line breaks inside HTML text are only blanks to a reader.
    seen.extend(" " if char in "\r\n\t" else char for char in text[start:end])
    places.extend(range(start, end))
    ends.extend(range(start + 1, end + 1))
