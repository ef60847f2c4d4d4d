"""Which encoding a text file is in: recognised from its bytes, or refused; never guessed silently."""

from __future__ import annotations

import codecs
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from pricing.errors import BadInput, NotFound, Problem

BLOCK_BYTES = 1 << 20
MOST_BYTES = 1 << 30
_WANTED = "text in UTF-8, or in Windows-1252"
# Bytes that Windows-1252 leaves undefined, and control characters that no text holds.
_NO_TEXT = frozenset({0x81, 0x8D, 0x8F, 0x90, 0x9D, 0x7F, *range(9), 11, 12, *range(14, 32)})
_KNOWN_STARTS = (
    (codecs.BOM_UTF16_LE, "UTF-16"),
    (codecs.BOM_UTF16_BE, "UTF-16"),
    (b"PK\x03\x04", "a packed file, such as a spreadsheet's own format"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet's own format"),
    (b"\x1f\x8b", "a packed file"),
    (b"%PDF", "a PDF"),
)


@dataclass(frozen=True)
class Encoding:
    """The encoding of one file, by Python's name, and what the user should know of it."""

    name: str
    notice: str | None = None


def recognised_encoding(path: Path) -> Encoding:
    """Return the encoding of the file: UTF-8 with or without a byte order mark, or Windows-1252.

    Windows-1252 is accepted only when the first character outside ASCII is not valid UTF-8 and every byte
    stands for a printable character; it comes with a notice.

    Raises:
        NotFound: There is no such file.
        BadInput: The file cannot be read, is empty, too large, or is no such text.
    """
    start = _checked_start(path)
    name = "utf-8-sig" if start.startswith(codecs.BOM_UTF8) else "utf-8"
    bad_byte, line, text_before = _first_bad_byte(path)
    if bad_byte is None:
        return Encoding(name)
    place = f"the byte 0x{bad_byte:02x}, which is not UTF-8"
    if name == "utf-8-sig" or text_before:
        raise _refused(path, place, "UTF-8 throughout: characters before this one are", line)
    for number, block in _blocks_of_lines(path):
        odd = _NO_TEXT.intersection(block)
        if odd:
            raise _refused(path, f"the byte 0x{min(odd):02x}", _WANTED, _line_of(block, odd, number))
    told = f"{path.name} is not UTF-8 (line {line}) and is read as Windows-1252"
    return Encoding("cp1252", f"{told}: look at its letters with accents")


def _checked_start(path: Path) -> bytes:
    if path.is_dir():
        raise _refused(path, "a folder", "a file")
    try:
        size = path.stat().st_size
        with path.open("rb") as file:
            start = file.read(8)
    except (FileNotFoundError, NotADirectoryError) as error:
        raise NotFound(f"there is no file {path}") from error
    except (OSError, ValueError) as error:
        raise _refused(path, f"a file that cannot be opened ({error})", "a file that may be read") from error
    if not start:
        raise _refused(path, "an empty file", "a line of column names, then one line per row")
    if size > MOST_BYTES:
        raise _refused(path, f"{size / 1e6:,.0f} MB", f"at most {MOST_BYTES / 1e6:,.0f} MB; split the file")
    for mark, what in _KNOWN_STARTS:
        if start.startswith(mark):
            raise _refused(path, what, f"{_WANTED}; save it as CSV")
    return start


def _blocks_of_lines(path: Path) -> Iterator[tuple[int, bytes]]:
    """Blocks of the file, each with the number of the line in which it starts."""
    line = 1
    with path.open("rb") as file:
        while block := file.read(BLOCK_BYTES):
            yield line, block
            line += block.count(b"\n")


def _line_of(block: bytes, wanted: frozenset[int], first_line: int) -> int:
    place = next(place for place, byte in enumerate(block) if byte in wanted)
    return first_line + block.count(b"\n", 0, place)


def _first_bad_byte(path: Path) -> tuple[int | None, int, bool]:
    """The first byte that is not UTF-8, its line, and whether other UTF-8 characters came before it.

    Raises:
        BadInput: A NUL byte: no text at all.
    """
    decoder = codecs.getincrementaldecoder("utf-8")()
    line, any_before, kept = 1, False, b""
    for first_line, block in _blocks_of_lines(path):
        if 0 in block:
            line = _line_of(block, frozenset({0}), first_line)
            raise _refused(path, "a NUL byte: UTF-16 or no text at all", f"{_WANTED}; save it as CSV", line)
        try:
            text = decoder.decode(block)
        except UnicodeDecodeError as error:
            before = (kept + block)[: error.start]
            line = first_line + before.count(b"\n")
            return (kept + block)[error.start], line, any_before or not before.isascii()
        any_before = any_before or not text.isascii()
        kept = decoder.getstate()[0]
        line = first_line + block.count(b"\n")
    return (kept[0], line, any_before) if kept else (None, line, any_before)


def _refused(path: Path, found: str, expected: str, line: int | None = None) -> BadInput:
    problem = Problem(path.name, line, None, found, expected)
    return BadInput(str(problem), (problem,))
