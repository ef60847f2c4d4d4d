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

    @property
    def marks(self) -> Marks:
        """What these cells show of the decimal mark."""
        told = dict.fromkeys(("comma", "comma_or_both", "grouped", "grouped_or_both"), "")
        both = [word for word, kind in zip(self.words, self.kinds, strict=True) if kind == "both"]
        for word, kind in zip(self.words, self.kinds, strict=True):
            for name in _telling(word, kind):
                told[name] = told[name] or word
        return Marks(
            points=self.cells("point"),
            commas=self.cells("comma"),
            both=bool(both),
            both_with_point=any("." in word for word in both),
            **told,
        )


@dataclass(frozen=True)
class Marks:
    """What the cells of a column show of its decimal mark; adds up over the parts of a file in their order.

    Attributes:
        points, commas: Cells that only a decimal point or only a decimal comma explains.
        both: Whether a cell is explained by both.
        both_with_point: Whether one of those is written with a point.
        comma, grouped: The first word that only a comma explains; that only a point explains, with commas in it.
        comma_or_both, grouped_or_both: The first word of those that is such a one, or explained by both. "": none.
    """

    points: int = 0
    commas: int = 0
    both: bool = False
    both_with_point: bool = False
    comma: str = ""
    comma_or_both: str = ""
    grouped: str = ""
    grouped_or_both: str = ""

    @property
    def mixed(self) -> bool:
        """Whether the column has both decimal points and decimal commas."""
        return bool(self.points and self.commas)

    def plus(self, later: Marks) -> Marks:
        """Return what this part and a later one show together."""
        return Marks(
            points=self.points + later.points,
            commas=self.commas + later.commas,
            both=self.both or later.both,
            both_with_point=self.both_with_point or later.both_with_point,
            comma=self.comma or later.comma,
            comma_or_both=self.comma_or_both or later.comma_or_both,
            grouped=self.grouped or later.grouped,
            grouped_or_both=self.grouped_or_both or later.grouped_or_both,
        )


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


def shapes_of(column: WordColumn, *, typed: bool = False) -> Shapes:
    """Return what each distinct word of a column can be; in a ``typed`` one a point is always the decimal point."""
    words = column.stripped
    counts = np.bincount(column.codes, minlength=len(words)).astype(np.int64)
    kinds = tuple(_kind(word) for word in words)
    if typed:
        kinds = tuple("point" if kind == "both" else kind for kind in kinds)
    return Shapes(words, kinds, counts)


def proven_mark(columns: Sequence[Marks], delimiter: str) -> Mark | None:
    """Return the decimal mark that the columns of a file prove together, None when they prove none or both.

    Where the semicolon parts the cells and no cell speaks for a point, a comma is a decimal comma.
    """
    points, commas = sum(marks.points for marks in columns), sum(marks.commas for marks in columns)
    if points and commas:
        return None
    if points:
        return "point"
    if commas:
        return "comma"
    commas_only = any(marks.both for marks in columns) and not any(marks.both_with_point for marks in columns)
    return "comma" if delimiter == ";" and commas_only else None


def read_numbers(
    name: str, column: WordColumn, shapes: Shapes, file_mark: Mark | None, marks: Marks | None = None
) -> Numbers:
    """Read one column, by the mark that its own cells prove, else by ``file_mark``.

    Args:
        name: The column.
        column: Its cells, all or those of one part of a file.
        shapes: What they can be.
        file_mark: What the file's columns prove together.
        marks: What the column shows over the whole file; None: the cells are all there are.
    """
    whole = shapes.marks if marks is None else marks
    mark = _commoner(whole.points, whole.commas) if whole.points or whole.commas else file_mark
    values = np.full(len(shapes.words), np.nan)
    bad: dict[int, str] = {}
    for place, (word, kind) in enumerate(zip(shapes.words, shapes.kinds, strict=True)):
        if kind == "blank":
            continue
        expected = _refusal(word, kind, mark, whole.mixed)
        if expected is None:
            values[place] = _value(word, mark or "point")
            if not np.isfinite(values[place]):
                expected = "a number that is not too large"
        if expected is not None:
            values[place] = np.nan
            bad[place] = expected
    return Numbers(values[column.codes], bad, _notice(name, whole, mark))


def _telling(word: str, kind: str) -> tuple[str, ...]:
    """Return which notices of marks a word could stand in; none for one too large to be read."""
    if kind == "both":
        return ("comma_or_both", "grouped_or_both")
    if kind == "comma" and np.isfinite(_value(word, "comma")):
        return ("comma", "comma_or_both")
    if kind == "point" and "," in word and np.isfinite(_value(word, "point")):
        return ("grouped", "grouped_or_both")
    return ()


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


def _notice(name: str, marks: Marks, mark: Mark | None) -> str | None:
    """Say how marks were read wherever it was not the plain decimal point."""
    if mark is None:
        return None
    if mark == "comma":
        word = marks.comma if marks.mixed else marks.comma_or_both
    else:
        word = marks.grouped if marks.mixed else marks.grouped_or_both
    return f"{name}: numbers are read with a decimal {mark}; {word} is {_value(word, mark):.15g}" if word else None
