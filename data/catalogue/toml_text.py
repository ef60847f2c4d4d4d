"""TOML files of the catalogue: read as UTF-8 and parsed, with the line of what is no TOML."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from data.catalogue.report import bad_file
from pricing.errors import NotFound, Problem, shortened

_PARSER_PLACE = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)$")


def read_toml_text(path: Path, expected: str) -> str:
    """Return the text of a file; ``expected`` says what it should hold, "a device class as TOML".

    Raises:
        NotFound: There is no such file.
        BadInput: It cannot be read, or is not UTF-8.
    """
    try:
        content = path.read_bytes()
    except (FileNotFoundError, NotADirectoryError) as error:
        raise NotFound(f"no file {shortened(path, 400)}; expected {expected}") from error
    except (OSError, ValueError) as error:
        problem = Problem(path.name, None, None, _reason(error), "a TOML file that can be read")
        raise bad_file(path.name, [problem]) from error
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        byte = f"byte 0x{content[error.start]:02X}"
        raise bad_file(path.name, [Problem(path.name, line, None, byte, "text in UTF-8")]) from error


def parse_toml(
    text: str, source: str, expected: str, parse_float: Callable[[str], Any] = float
) -> dict[str, Any]:
    """Return the tables of a TOML text.

    Args:
        text: The text.
        source: Names it in messages.
        expected: What it should hold, when it is empty.
        parse_float: What a number with a point becomes; Decimal where it is money.

    Raises:
        BadInput: It is empty or no TOML.
    """
    if not text.strip():
        raise bad_file(source, [Problem(source, None, None, "an empty file", expected)])
    try:
        return tomllib.loads(text, parse_float=parse_float)
    except RecursionError as error:
        found = "values nested too deeply"
        raise bad_file(source, [Problem(source, None, None, found, expected)]) from error
    except ValueError as error:  # a TOMLDecodeError, or a number with more digits than Python reads
        place = _PARSER_PLACE.search(str(error))
        line = int(place.group(1)) if place and place.group(1) else len(text.splitlines())
        found = _PARSER_PLACE.sub("", str(error)) if place else "a number that is too long"
        problem = Problem(source, line if place else None, None, found, "TOML as its standard says")
        raise bad_file(source, [problem]) from error


def _reason(error: Exception) -> str:
    if isinstance(error, OSError):
        return (error.strerror or "an error").lower()
    return "a name that no file can have"
