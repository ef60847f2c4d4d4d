"""Free text made safe to show: what a unit's fields hold is data, never layout or code.

Two steps. ``neutral`` takes out what a reader cannot see but a screen obeys (control characters, marks that turn
the direction of writing, zero-width characters). ``escaped`` then writes text so that a format shows it as it is.
"""

from __future__ import annotations

import html
import json
import re
import unicodedata
from functools import lru_cache

from pricing.records.listing import Format

LONGEST = 1000

_BLANK = re.compile(r"\s+")
_MARKDOWN = re.compile(r"[\\`*_{}\[\]<>|~&$@^]")
_LINE_START = re.compile(r"^([#+\-=:]|\d+(?=[.)]))")
_ENDS_SCRIPT = {ord(sign): f"\\u{ord(sign):04x}" for sign in "<>&\u2028\u2029"}
_LINK_START = re.compile(r"(?i)\b(www)\.|(https?|ftp)(?=:)|(\bmailto|\bxmpp)(?=:)")


def neutral(text: str) -> str:
    """Return text on one line, without control, direction, zero-width and unassigned characters."""
    return visible(text).strip()


def visible(text: str) -> str:
    """Return what ``neutral`` returns, but keep one blank at each end where there was one."""
    if text.isprintable():
        return _BLANK.sub(" ", text) if "  " in text else text
    kept = (" " if char.isspace() else char for char in text if char.isspace() or _is_seen(char))
    return _BLANK.sub(" ", "".join(kept))


def clipped(text: str, longest: int = LONGEST) -> str:
    """Return ``neutral`` text of at most ``longest`` characters; an ellipsis shows that something was left off."""
    # Four times the limit is enough to fill it unless most of the text is invisible; it keeps 100 kB cheap.
    clean = neutral(text[: longest * 4])
    return clean if len(clean) <= longest else clean[: longest - 1] + "…"


def escaped(text: str, format: Format) -> str:
    """Return text written so that the format shows it literally."""
    if format == "html":
        return html.escape(text, quote=True).replace("&#x27;", "&#39;").replace("&quot;", "&#34;")
    if format == "markdown":
        return _known_markdown(text) if len(text) <= LONGEST else _markdown(text)
    if format == "json-ld":
        return in_script(json.dumps(text, ensure_ascii=False))[1:-1]
    return text


def in_script(document: str) -> str:
    """Return JSON text with its signs of markup written as escapes, so that no script element ends inside it."""
    return document.translate(_ENDS_SCRIPT)


# The same sentences are written again for each page view; what is longer than a field may be is not kept.
@lru_cache(maxsize=4096)
def _known_markdown(text: str) -> str:
    return _markdown(text)


def _markdown(text: str) -> str:
    # Most texts have nothing to escape; to look for it costs a third of replacing nothing.
    safe = _MARKDOWN.sub(r"\\\g<0>", text) if _MARKDOWN.search(text) else text
    small = safe.lower()
    if "www" in small or "http" in small or "ftp" in small or "mailto" in small or "xmpp" in small:
        safe = _LINK_START.sub(_broken_link, safe)
    return _LINE_START.sub(_escaped_line_start, safe)


def _broken_link(match: re.Match[str]) -> str:
    # A renderer turns bare addresses into links; a backslash before the sign stops that and is not shown.
    return match[1] + "\\." if match[1] else match[0] + "\\"


def _escaped_line_start(match: re.Match[str]) -> str:
    return match[1] + "\\" if match[1].isdigit() else "\\" + match[1]


def _is_seen(char: str) -> bool:
    return unicodedata.category(char) not in ("Cc", "Cf", "Cs", "Cn", "Co", "Zl", "Zp")
