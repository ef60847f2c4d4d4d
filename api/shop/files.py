"""Files of the user, read and written with errors in words."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from glob import glob, has_magic
from pathlib import Path
from typing import TextIO

from pricing.errors import BadInput, NotFound, Problem

_MOST_BYTES = 200_000_000


def matching_files(pattern: Path) -> tuple[Path, ...]:
    """Return the files that a pattern such as ``part-*.csv`` names, in the order of their names.

    A path without *, ? or [ stands for itself, as does one that is there under just that name.

    Raises:
        NotFound: No file matches.
    """
    if not has_magic(str(pattern)) or pattern.exists():
        return (pattern,)
    found = sorted(Path(name) for name in glob(str(pattern), recursive=True))
    files = tuple(path for path in found if path.is_file())
    if not files:
        raise NotFound(f"no file matches {pattern}")
    return files


def read_text(path: Path) -> str:
    """Return the UTF-8 text of a file, without a byte order mark.

    Raises:
        NotFound: There is no such file.
        BadInput: It cannot be read, is not UTF-8, or is larger than 200 MB.
    """
    content = read_bytes(path, _MOST_BYTES)
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _bad_file(path, f"the byte {content[error.start]:#04x}", "text in UTF-8") from error


def read_bytes(path: Path, most: int) -> bytes:
    """Return what is in a file of at most ``most`` bytes.

    Raises:
        NotFound: There is no such file.
        BadInput: It cannot be read, or is larger.
    """
    try:
        size = path.stat().st_size
        content = b"" if size > most else path.read_bytes()
    except (FileNotFoundError, NotADirectoryError) as error:
        raise NotFound(f"no file {path}") from error
    except (OSError, ValueError) as error:
        raise _bad_file(path, str(error), "a file that can be read") from error
    if size > most:
        raise _bad_file(path, f"{size:,} bytes", f"at most {most:,} bytes")
    return content


def write_bytes(path: Path, content: bytes) -> None:
    """Write bytes into a file, whole or not at all.

    Raises:
        BadInput: The place cannot be written.
    """
    with whole_path(path) as beside:
        beside.write_bytes(content)


def write_text(path: Path, text: str) -> None:
    """Write a text as UTF-8, whole or not at all.

    Raises:
        BadInput: The place cannot be written.
    """
    with _whole_file(path) as file:
        file.write(text)


def write_rows(path: Path, rows: Iterable[Sequence[str]]) -> None:
    """Write rows as a comma-separated file in UTF-8, whole or not at all.

    Raises:
        BadInput: The place cannot be written.
    """
    with _whole_file(path) as file:
        csv.writer(file, lineterminator="\n").writerows(rows)


@contextmanager
def whole_path(path: Path) -> Iterator[Path]:
    """Give a place to write to that takes the place of ``path`` when the block ends well, else goes.

    Raises:
        BadInput: The place cannot be written.
    """
    beside = path.with_name(f".{path.name}.part")
    try:
        yield beside
        beside.replace(path)
    except OSError as error:
        raise _bad_file(path, error.strerror or str(error), "a place that can be written") from error
    finally:
        if beside.is_file():
            beside.unlink()


@contextmanager
def _whole_file(path: Path) -> Iterator[TextIO]:
    with whole_path(path) as beside, beside.open("w", encoding="utf-8", newline="") as file:
        yield file


def _bad_file(path: Path, found: str, expected: str) -> BadInput:
    problem = Problem(str(path), None, None, found, expected)
    return BadInput(str(problem), (problem,))
