"""Every error that plainsale raises on purpose, as one tree.

::

    PlainsaleError            what the user can be told in one sentence
    +-- BadInput              a file, row or field is wrong; carries the Problems
    |   +-- BadModelFile      a model file is damaged, of another version or of another class
    +-- NotFound              a name, number or file that is not there
    +-- CannotFit             the sales do not allow a model
    |   +-- SingularDesign    columns that say the same thing, by name
    |   +-- NotConverged      the variance components did not settle
    +-- Abstained             the model declines to price this unit
    +-- HeldBack              a unit that may be neither sold nor stripped
    +-- ListingRefused        a listing that must not be written or published
    +-- StaleVersion          somebody else changed the record meanwhile
    +-- UnsafeSetting         a setting that is refused at start

Each kind has one exit code and one HTTP status; both tables are in ``api.error_replies``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

# 14 to 16 digits, as the identity of a radio has them, with at most one sign between two of them.
_LIKE_IMEI = re.compile(r"(?<![0-9])(?<![0-9][.,])[0-9](?:[ \-./]?[0-9]){13,15}(?![0-9])(?![.,][0-9])")
_SHORTEST_IMEI = 14
_SHOWN_OF_IMEI = 3


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong in what a user gave: where, what was found, what was expected.

    Attributes:
        source: File name or "request".
        line: 1-based line in the file, or None where there is no line.
        column: Name of the column, key or field, or None when the whole line or file is meant.
        found: What stood there, shortened to at most 80 characters.
        expected: What would have been right, in plain words.
    """

    source: str
    line: int | None
    column: str | None
    found: str
    expected: str

    def __str__(self) -> str:
        place = self.source
        if self.line is not None:
            place += f", line {self.line}"
        if self.column is not None:
            place += f", {self.column}"
        return f"{place}: found {self.found}; expected {self.expected}"


def without_imeis(text: str) -> str:
    """Return the text with everything masked in it that could be an IMEI, whether its check digit is right or not."""
    if len(text) < _SHORTEST_IMEI:
        return text
    return _LIKE_IMEI.sub(lambda found: "…" + "".join(filter(str.isdigit, found[0]))[-_SHOWN_OF_IMEI:], text)


def shortened(value: object, limit: int = 80) -> str:
    """Return ``value`` as quoted text of at most ``limit`` characters, for ``Problem.found``; an IMEI is masked."""
    # What is cut off in the middle of an IMEI could no longer be known as one.
    whole = without_imeis(str(value)[: limit + 40])
    text = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in whole[: limit + 1])
    return f'"{text}"' if len(text) <= limit else f'"{text[: limit - 1]}…"'


def counted(count: int, noun: str) -> str:
    """Return "1 sale", "2 sales": a count with its noun."""
    return f"{count:,} {noun}" if count == 1 else f"{count:,} {noun}s"


class PlainsaleError(Exception):
    """Anything that the user can be told in one sentence; the message is that sentence."""


class BadInput(PlainsaleError):
    """A file, row or field is wrong; ``problems`` holds each one."""

    def __init__(self, message: str, problems: tuple[Problem, ...] = ()) -> None:
        super().__init__(message)
        self.problems = problems


def refused(source: str, problems: Sequence[Problem]) -> BadInput:
    """Return the error that a file or request with these problems (at least one) is refused with."""
    first = f"{source}: {counted(len(problems), 'problem')}; first: {problems[0]}"
    return BadInput(first, tuple(problems))


class BadModelFile(BadInput):
    """A model file is damaged, of another version, or of another device class."""


class NotFound(PlainsaleError):
    """A name, number or file that is not there."""


class CannotFit(PlainsaleError):
    """The sales do not allow a model."""


class SingularDesign(CannotFit):
    """Columns that say the same thing; the message names them."""


class NotConverged(CannotFit):
    """The variance components did not settle."""


class Abstained(PlainsaleError):
    """The model declines to price this unit; the message is the reason."""


class HeldBack(PlainsaleError):
    """A unit that may be neither sold nor stripped; the message says why and what to do."""


class ListingRefused(PlainsaleError):
    """A listing that must not be written or published."""


class StaleVersion(PlainsaleError):
    """Somebody else changed the record meanwhile."""


class UnsafeSetting(PlainsaleError):
    """A setting that is refused at start."""
