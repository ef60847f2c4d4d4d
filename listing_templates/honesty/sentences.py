"""A text cut into sentences, each with the heading or lead-in under which it stands."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

_LINE = re.compile(r"[^\n]+")
_HEADING = re.compile(r"\s*#{1,6}\s")
_BULLET = re.compile(r"\s*(?:[-*+•–]|\d{1,2}[.)])\s")
_DAY = re.compile(r"\d{1,2}(?:\.\d{1,2})?")
_ORDINALS = frozenset({"1", "2", "3", "4"})  # "the 2. slot"; at the beginning of a line they number it
_END = re.compile(r"[.!?…]+(?=[\s\"”')\]*_]|$)")


_PARTING = re.compile(r"\s*[;:,()–—](?=\s|$)|\s+-\s+|\s\(")
_PIECE_WORDS = 3  # words of a piece of a sentence that says something by itself


@dataclass(frozen=True)
class Span:
    """A sentence: its place, and whether it leads in the lines below it or is one of a list.

    Attributes:
        start, end: Place in the seen text.
        leads: A heading, a line that ends with a colon, or one without a full stop above a list.
        listed: A line of a list.
        ends_lead: An empty line stands before it, so the line that led in the list above no longer does.
        heading: A heading; it leads until the next one.
    """

    start: int
    end: int
    leads: bool
    listed: bool
    ends_lead: bool
    heading: bool


def spans_of(text: str, abbreviations: frozenset[str], months: frozenset[str] = frozenset()) -> Iterator[Span]:
    """Yield the sentences of a text in order; a line break always ends one."""
    last = 0
    lines = [line for line in _LINE.finditer(text) if line[0].strip()]
    for place, line in enumerate(lines):
        gap = text.count("\n", last, line.start()) > 1
        # "# Grip: three scratches." is a line of a list by another sign: a heading is no whole sentence.
        signed, ended = _HEADING.match(line[0]) is not None, line[0].rstrip(" *_").endswith(".")
        heading = signed and not ended
        listed = _BULLET.match(line[0]) is not None or (signed and ended)
        before_list = place + 1 < len(lines) and _BULLET.match(lines[place + 1][0] + " ") is not None
        leads = heading or line[0].rstrip(" *_").endswith(":") or (
            # The first line is the text's title: what it names is not what the list below speaks of.
            before_list and place > 0 and not listed and _END.search(line[0]) is None
        )
        for number, (start, end) in enumerate(_pieces(line[0], abbreviations, months)):
            at = line.start()
            yield Span(at + start, at + end, leads, listed, gap and number == 0 and not listed, heading)
        last = line.end()


def pieces_of(sentence: str) -> tuple[str, ...]:
    """Return what stands between commas, colons, brackets and dashes, but no word or two; nothing if there are none."""
    pieces = [piece.strip() for piece in _PARTING.split(sentence)]
    long_enough = tuple(piece for piece in pieces if len(piece.split()) >= _PIECE_WORDS)
    return long_enough if len(pieces) > 1 else ()


def _pieces(line: str, abbreviations: frozenset[str], months: frozenset[str]) -> Iterator[tuple[int, int]]:
    start = 0
    for match in _END.finditer(line):
        words = line[start : match.start()].rsplit(None, 1)
        if match[0] == "." and words and words[-1].strip("(").casefold() in abbreviations:
            continue
        if match[0] == "." and line[match.end() :].lstrip()[:1] in tuple(":,;"):
            continue
        if match[0] == "." and _is_date(words, line[match.end() :], months):
            continue
        if any(char.isalnum() for char in line[start : match.end()]):
            yield _trimmed(line, start, match.end())
            start = match.end()
    if any(char.isalnum() for char in line[start:]):
        yield _trimmed(line, start, len(line))


def _is_date(words: list[str], after: str, months: frozenset[str]) -> bool:
    """Return whether a full stop ends a day ("am 14.01. geprüft", "am 14. Januar") or "2. Schacht", no sentence."""
    if not words or _DAY.fullmatch(words[-1].lstrip("(")) is None:
        return False
    following = after.split(None, 1)[:1]
    if len(words) > 1 and words[-1] in _ORDINALS and after.lstrip()[:1].isalpha():
        return True
    return after.lstrip()[:1].islower() or bool(following and following[0].casefold().strip(".,)") in months)


def _trimmed(line: str, start: int, end: int) -> tuple[int, int]:
    while line[start].isspace():
        start += 1
    while line[end - 1].isspace():
        end -= 1
    return start, end
