"""The list of what is wrong in one class file, kept until the whole file has been read."""

from __future__ import annotations

from data.catalogue.positions import Path, Positions
from pricing.errors import BadInput, Problem, refused, shortened


class Report:
    """Collects the problems of one file, each with the line of its key or table."""

    def __init__(self, source: str, positions: Positions) -> None:
        self.source = source
        self.problems: list[Problem] = []
        self._positions = positions

    def add(self, path: Path, found: object, expected: str) -> None:
        """Add a problem: what was ``found`` at ``path``, quoted unless None, and what was ``expected``."""
        column = ".".join(str(key) for key in path if isinstance(key, str)) or None
        told = "nothing" if found is None else shortened(found)
        self.problems.append(Problem(self.source, self._positions.line_of(path), column, told, expected))

    def raise_if_any(self) -> None:
        """End the reading when something is wrong.

        Raises:
            BadInput: With every problem, in the order of the file's lines.
        """
        if self.problems:
            raise bad_file(self.source, self.problems)


def bad_file(source: str, problems: list[Problem]) -> BadInput:
    """Return the error for a file with these problems, sorted by line."""
    ordered = tuple(sorted(problems, key=lambda problem: problem.line or 0))
    return refused(source, ordered)
