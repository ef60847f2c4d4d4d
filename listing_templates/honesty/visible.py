"""What a reader sees of a text, each character with its place in the text as given."""

from __future__ import annotations

import html
import re
from collections.abc import Sequence
from dataclasses import dataclass

from listing_templates.honesty.hidden import Page

_MARKUP = re.compile(
    r"<!--.*?-->|<!doctype[^>]*>|<(script|style|head|template)\b.*?</\1\s*>|</?([a-z][a-z0-9]*)\b[^>]*>"
    r"|&(?:#\d{1,7}|#x[0-9a-f]{1,6}|[a-z][a-z0-9]{1,30});",
    re.IGNORECASE | re.DOTALL,
)
_TAG = re.compile(r"</?(?:html|body|p|div|ul|ol|li|h[1-6]|br|span|section|main|strong|b|em|i|table)\b", re.IGNORECASE)
_INLINE = frozenset({"a", "abbr", "b", "bdi", "bdo", "cite", "code", "em", "font", "i", "mark", "s", "small", "span",
                     "strong", "sub", "sup", "time", "u"})  # fmt: skip
_HAS_WORD = re.compile(r"[^\W\d_]{2}")
_HEADING = re.compile(r"h[1-6]$", re.IGNORECASE)


@dataclass(frozen=True)
class Visible:
    """Text as seen, with ``places[i]`` the place of character i in the given text and ``ends[i]`` where it ends.

    ``hidden`` holds the stretches of the given text (start, end) that stand there and are not seen.
    """

    text: str
    places: Sequence[int]
    ends: Sequence[int]
    hidden: tuple[tuple[int, int], ...] = ()

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
    pieces = _Pieces()
    page = Page.of(text)
    hidden: list[tuple[int, int]] = []
    last = 0
    for match in (*_MARKUP.finditer(text), None):
        start, end = match.span() if match is not None else (len(text), len(text))
        if page.is_shown:
            pieces.add_plain(text, last, start)
        elif _HAS_WORD.search(text, last, start) is not None:
            hidden.append((last, start))
        last = end
        if match is None:
            break
        page.pass_tag(match[0])
        pieces.add(_shown_for(match), start, end)
    return Visible("".join(pieces.seen), pieces.places, pieces.ends, tuple(hidden))


def has_tags(text: str) -> bool:
    """Return whether the text holds a tag that HTML is usually written with."""
    return _TAG.search(text) is not None


def _shown_for(markup: re.Match[str]) -> str:
    """Return what a reader sees in place of a tag or an entity."""
    if markup[0].startswith("&"):
        return html.unescape(markup[0])
    tag = (markup[2] or "").lower()
    if tag in _INLINE:
        return ""
    if markup[0].startswith("</"):
        return "\n"
    return "\n# " if _HEADING.match(tag) else "\n- " if tag == "li" else "\n"


class _Pieces:
    """Seen text as it grows, with the place of each character in the given text."""

    def __init__(self) -> None:
        self.seen: list[str] = []
        self.places: list[int] = []
        self.ends: list[int] = []

    def add(self, shown: str, start: int, end: int) -> None:
        """Add what is shown in place of a stretch of the text."""
        self.seen.extend(shown)
        self.places.extend([start] * len(shown))
        self.ends.extend([end] * len(shown))

    def add_plain(self, text: str, start: int, end: int) -> None:
        """Add a stretch as it is; line breaks inside HTML text are only blanks to a reader."""
        self.seen.extend(" " if char in "\r\n\t" else char for char in text[start:end])
        self.places.extend(range(start, end))
        self.ends.extend(range(start + 1, end + 1))
