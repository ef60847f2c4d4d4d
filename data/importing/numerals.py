"""How numbers are written in one file: a decimal point or a decimal comma, never guessed.

Each cell is one of: a plain whole number; a number that only a decimal point explains (12.50, 1,234.5, 1e3);
one that only a decimal comma explains (12,50 or 1.234,5); one that both explain, with different values (1,234
or 1.234); or no number. A column is read in the way that its own cells prove, else in the way that the other
columns of the file prove. A cell that both explain is refused when nothing proves either, or when the column
mixes both; of a mixed column the cells in the rarer way are refused, and all when neither is rarer.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from data.importing.text_table import WordColumn
from pricing.records.sales_table import FloatArray

Mark = Literal["point", "comma"]
MARKS: tuple[Mark, Mark] = ("point", "comma")
_SHAPES = re.compile(
    r"(?P<whole>[+-]?[0-9]+)"
    r"|(?P<both>[+-]?[1-9][0-9]{0,2}(?:,[0-9]{3}|\.[0-9]{3}))"
    r"|(?P<point>[+-]?(?:[0-9]+\.[0-9]*|\.[0-9]+|[1-9][0-9]{0,2}(?:,[0-9]{3})+\.[0-9]+"
    r"|[1-9][0-9]{0,2}(?:,[0-9]{3}){2,}|(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)[eE][+-]?[0-9]{1,5}))"
    r"|(?P<comma>[+-]?(?:[0-9]+,[0-9]*|,[0-9]+|[1-9][0-9]{0,2}(?:\.[0-9]{3})+,[0-9]+"
    r"|[1-9][0-9]{0,2}(?:\.[0-9]{3}){2,}))"
)
_LONGEST_NUMERAL = 400


@dataclass(frozen=True, eq=False)
class Shapes:
    """What each distinct word of a column can be.

    Attributes:
        words: The words, stripped; "" where not stated.
        kinds: Per word: "whole", "point", "comma", "both", "blank" or "none".
        counts: Cells per word, int64.
    """

    words: tuple[str, ...]
    kinds: tuple[str, ...]
    counts: NDArray[np.int64]

    def cells(self, kind: str) -> int:
        """Number of cells of one kind."""
        return sum(int(count) for count, known in zip(self.counts, self.kinds, strict=True) if known == kind)


@dataclass(frozen=True, eq=False)
class Numbers:
    """A column of numbers.

    Attributes:
        values: float64, shape (rows,), NaN where not stated or bad.
        bad_words: Place of a word that is no usable number -> what was expected.
        notice: What the user should know of how it was read.
    """

    values: FloatArray
    bad_words: Mapping[int, str]
    notice: str | None


def shapes_of(column: WordColumn) -> Shapes:
    """Return what each distinct word of a column can be."""
    words = column.stripped
    counts = np.bincount(column.codes, minlength=len(words)).astype(np.int64)
    return Shapes(words, tuple(_kind(word) for word in words), counts)


def proven_mark(columns: Sequence[Shapes], delimiter: str) -> Mark | None:
    """Return the decimal mark that the columns of a file prove together, None when they prove none or both.

    Where the semicolon parts the cells and no cell speaks for a point, a comma is a decimal comma.
    """
    points = sum(shapes.cells("point") for shapes in columns)
    commas = sum(shapes.cells("comma") for shapes in columns)
    if points and commas:
        return None
    if points:
        return "point"
    if commas:
        return "comma"
    written = [word for shapes in columns for word, kind in zip(shapes.words, shapes.kinds, strict=True)
               if kind == "both"]  # fmt: skip
    if delimiter == ";" and written and all("," in word for word in written):
        return "comma"
    return None


def read_numbers(name: str, column: WordColumn, shapes: Shapes, file_mark: Mark | None) -> Numbers:
    """Read one column, by the mark that its own cells prove, else by ``file_mark``."""
    points, commas = shapes.cells("point"), shapes.cells("comma")
    mixed = bool(points and commas)
    mark = _commoner(points, commas) if points or commas else file_mark
    values = np.full(len(shapes.words), np.nan)
    bad: dict[int, str] = {}
    for place, (word, kind) in enumerate(zip(shapes.words, shapes.kinds, strict=True)):
        if kind == "blank":
            continue
        expected = _refusal(word, kind, mark, mixed)
        if expected is None:
            values[place] = _value(word, mark or "point")
            if not np.isfinite(values[place]):
                expected = "a number that is not too large"
        if expected is not None:
            values[place] = np.nan
            bad[place] = expected
    return Numbers(values[column.codes], bad, _notice(name, shapes, mark, bad))


def _kind(word: str) -> str:
    if not word:
        return "blank"
    match = _SHAPES.fullmatch(word) if len(word) <= _LONGEST_NUMERAL else None
    return "none" if match is None else match.lastgroup or "none"


def _commoner(points: int, commas: int) -> Mark | None:
    if points == commas:
        return None
    return "point" if points > commas else "comma"


def _refusal(word: str, kind: str, mark: Mark | None, mixed: bool) -> str | None:
    """What was expected instead of the word, None when it can be read."""
    if kind == "none":
        return "a number such as 1234.50, or nothing where it is not stated"
    if kind in ("whole", mark) or (kind == "both" and mark is not None and not mixed):
        return None
    if kind == "both":
        readings = f"{_value(word, 'point'):g} or {_value(word, 'comma'):g}"
        why = "the column mixes decimal points and commas" if mixed else "no other cell shows which"
        return f"a number that can be read in one way; this is {readings}, and {why}"
    if mark is None:
        return "one decimal mark in the whole column; as many cells have a point as a comma"
    return f"a decimal {mark}, as in the other cells of the column"


def _value(word: str, mark: Mark) -> float:
    if mark == "point":
        return float(word.replace(",", ""))
    return float(word.replace(".", "").replace(",", "."))


def _notice(name: str, shapes: Shapes, mark: Mark | None, bad: Mapping[int, str]) -> str | None:
    """Say how marks were read wherever it was not the plain decimal point."""
    for place, (word, kind) in enumerate(zip(shapes.words, shapes.kinds, strict=True)):
        telling = (mark == "comma" and kind in ("comma", "both")) or (mark == "point" and kind == "both")
        telling = telling or (mark == "point" and kind == "point" and "," in word)
        if telling and place not in bad and mark is not None:
            return f"{name}: numbers are read with a decimal {mark}; {word} is {_value(word, mark):.15g}"
    return None
