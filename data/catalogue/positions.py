"""Where tables and keys stand in a TOML text: the line of each, which the standard parser does not keep."""

from __future__ import annotations

import re
from collections.abc import Mapping

Path = tuple[str | int, ...]

_KEY = r"""(?:[A-Za-z0-9_-]+|"(?:\\.|[^"\\])*"|'[^']*')"""
_DOTTED = rf"{_KEY}(?:\s*\.\s*{_KEY})*"
_HEADER = re.compile(rf"\s*(\[\[?)\s*({_DOTTED})\s*\]")
_ASSIGNMENT = re.compile(rf"\s*({_DOTTED})\s*=")
_TOKEN = re.compile(r'''"""|\'\'\'|"(?:\\.|[^"\\])*"|'[^']*'|#.*|[\[\]{}]''')
_DEPTH = {"[": 1, "{": 1, "]": -1, "}": -1}


class Positions:
    """The lines of a TOML text's tables and keys.

    A path names the tables from the outside in, with the row's number (from 0) in an array of tables:
    ``("function", 3, "weight")``.
    """

    def __init__(self, text: str) -> None:
        self._lines: dict[Path, int] = {}
        self._rows: dict[Path, int] = {}
        self._table: Path = ()
        self._quote = ""
        self._depth = 0
        for number, line in enumerate(text.split("\n"), start=1):
            self._take(line, number)

    def line_of(self, path: Path) -> int | None:
        """Return the 1-based line of the path, or of the nearest table around it; None when there is none."""
        for length in range(len(path), 0, -1):
            if path[:length] in self._lines:
                return self._lines[path[:length]]
        return None

    @property
    def lines(self) -> Mapping[Path, int]:
        """Every path found, with its 1-based line."""
        return self._lines

    def _take(self, line: str, number: int) -> None:
        if self._quote or self._depth > 0:
            self._follow_value(line)
            return
        header = _HEADER.match(line)
        assignment = _ASSIGNMENT.match(line)
        if header is not None:
            self._open_table(_split(header.group(2)), number, many=header.group(1) == "[[")
        elif assignment is not None:
            path = self._table
            for key in _split(assignment.group(1)):
                path = (*path, key)
                self._lines.setdefault(path, number)
            self._follow_value(line[assignment.end() :])

    def _open_table(self, keys: list[str], number: int, *, many: bool) -> None:
        path: Path = ()
        for place, key in enumerate(keys):
            path = (*path, key)
            self._lines.setdefault(path, number)
            if many and place == len(keys) - 1:
                self._rows[path] = self._rows.get(path, -1) + 1
            if path in self._rows:
                path = (*path, self._rows[path])
                self._lines.setdefault(path, number)
        self._table = path

    def _follow_value(self, rest: str) -> None:
        """Keep track of strings and brackets that go on over the end of a line."""
        if self._quote:
            end = rest.find(self._quote)
            if end < 0:
                return
            rest = rest[end + len(self._quote) :]
            self._quote = ""
        for token in _TOKEN.finditer(rest):
            word = token.group()
            if word in ('"""', "'''"):
                self._quote = word
                self._follow_value(rest[token.end() :])
                return
            self._depth += _DEPTH.get(word, 0)


def _split(dotted: str) -> list[str]:
    return [key[1:-1] if key[0] in "\"'" else key for key in re.findall(_KEY, dotted)]
