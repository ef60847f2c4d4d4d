"""Files that are called as what they describe: the user's folder is looked at first, then those that come along."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Generic, TypeVar

from data.catalogue.report import bad_file
from pricing.errors import NotFound, Problem, shortened

Thing = TypeVar("Thing")


@dataclass(frozen=True)
class NamedFiles(Generic[Thing]):
    """One kind of thing that TOML files describe.

    Attributes:
        package: Name of the package with those that come along.
        none: What is said where there is none, before its name: "no channel".
        place: Where a file states its name: "channel.name".
        name_of: The name that a thing has.
        from_text: From a text, and what the text is called in messages, to the thing.
        read: From a file of the user to the thing.
        line_of: From a file of the user to the line that states its name; None: messages name no line.
    """

    package: str
    none: str
    place: str
    name_of: Callable[[Thing], str]
    from_text: Callable[[str, str], Thing]
    read: Callable[[Path], Thing]
    line_of: Callable[[Path], int | None] | None = None

    def names(self, folder: Path | None) -> tuple[str, ...]:
        """Return the names there are, sorted: of those that come along and of those in ``folder``."""
        own = [] if folder is None or not folder.is_dir() else [path.stem for path in folder.glob("*.toml")]
        return tuple(sorted({*own, *packaged_names(self.package)}))

    def find(self, name: str, folder: Path | None, asked: str | None = None) -> Thing:
        """Return the thing of this name, from ``folder`` if it has one, else from those that come along.

        ``asked`` is the name as the user wrote it, for the message; None: as it is.

        Raises:
            NotFound: There is none; the message lists those there are.
            BadInput: Its file has problems, or states another name than the file's.
        """
        names = self.names(folder)
        if name not in names:
            raise NotFound(f"{self.none} {shortened(asked or name)}; there are: {', '.join(names)}")
        own = None if folder is None else folder / f"{name}.toml"
        if own is None or not own.is_file():
            return self.come_along(name)
        found = self.read(own)
        stated = self.name_of(found)
        if stated != name:
            line = None if self.line_of is None else self.line_of(own)
            expected = f"{shortened(name)}, as the file is called"
            raise bad_file(own.name, [Problem(own.name, line, self.place, shortened(stated), expected)])
        return found

    @cache  # noqa: B019 - there is one of each kind, as long as the program runs
    def come_along(self, name: str) -> Thing:
        """Return the thing of this name among those that come along, read once."""
        source = f"{name}.toml"
        return self.from_text((files(self.package) / source).read_text("utf-8"), source)


@cache
def packaged_names(package: str) -> tuple[str, ...]:
    """Return the names of the TOML files in a package, sorted."""
    names = [entry.name for entry in files(package).iterdir()]
    return tuple(sorted(name.removesuffix(".toml") for name in names if name.endswith(".toml")))
