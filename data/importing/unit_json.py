"""One unit from JSON: the record ``Unit``, with every mistake named by its key. Other records are read alike."""

from __future__ import annotations

import json
import math
import re
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any, NoReturn, TypeVar

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from pricing.errors import BadInput, NotFound, Problem, refused, shortened
from pricing.records.base import Record
from pricing.records.identity import IDENTITY_KEYS, masked, unspoken
from pricing.records.unit import Unit

AnyRecord = TypeVar("AnyRecord", bound=Record)

MOST_BYTES = 10_000_000
LONGEST_WHOLE = 30

# What stands behind the key of an identity, although the JSON is broken there, is one.
_AFTER_IDENTITY = re.compile(rf'"(?:{"|".join(sorted(IDENTITY_KEYS))})"\s*:[^,]*$')

_PLAIN_WORDS = {
    "missing": "this key",
    "extra_forbidden": "no such key here",
    "string_type": "text in quotes",
    "dict_type": "an object in braces",
    "model_type": "an object in braces",
    "list_type": "a list in brackets",
    "tuple_type": "a list in brackets",
    "int_type": "a whole number",
    "int_parsing": "a whole number",
    "float_type": "a number",
    "float_parsing": "a number",
    "decimal_type": "a number",
    "decimal_parsing": "a number",
    "decimal_whole_digits": "a number that is not too long",
    "finite_number": "a finite number",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "date_type": "a day as YYYY-MM-DD",
    "date_parsing": "a day as YYYY-MM-DD",
    "date_from_datetime_parsing": "a day as YYYY-MM-DD",
    "date_from_datetime_inexact": "a day as YYYY-MM-DD, without a time",
}  # fmt: skip


def read_unit(path: Path) -> Unit:
    """Read a unit from a JSON file in UTF-8.

    Raises:
        NotFound: There is no such file.
        BadInput: The file cannot be read or is no unit; with one Problem per mistake.
    """
    return read_record(path, Unit)


def read_record(path: Path, kind: type[AnyRecord]) -> AnyRecord:
    """Read a record of any kind from a JSON file in UTF-8.

    Raises:
        NotFound: There is no such file.
        BadInput: The file cannot be read or is no such record; with one Problem per mistake.
    """
    noun = kind.__name__.lower()
    try:
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
    except FileNotFoundError as error:
        raise NotFound(f"there is no file {path}") from error
    except (OSError, ValueError) as error:
        raise _refused(path.name, None, f"a file that cannot be read ({error})", "a JSON file") from error
    if len(content) > MOST_BYTES:
        raise _refused(path.name, None, "a file of more than 10 MB", f"one {noun}")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise _refused(path.name, line, f"the byte 0x{content[error.start]:02x}", "UTF-8") from error
    return record_from_text(text, path.name, kind)


def unit_from_text(text: str, source: str) -> Unit:
    """Return the unit that a JSON text describes.

    Raises:
        BadInput: The text is no JSON, names a key twice, or is no unit; with one Problem per mistake.
    """
    return record_from_text(text, source, Unit)


def record_from_text(text: str, source: str, kind: type[AnyRecord]) -> AnyRecord:
    """Return the record that a JSON text describes.

    Raises:
        BadInput: The text is no JSON, names a key twice, or is no such record; with one Problem per mistake.
    """
    fields = _parsed(text, source)
    try:
        return kind.model_validate(fields)
    except ValidationError as error:
        problems = tuple(problem_in(source, None, detail) for detail in error.errors(include_url=False))
        raise refused(source, problems) from error


class _Refusal(ValueError):
    """JSON that Python's reader would take, but that says nothing certain."""

    def __init__(self, key: str | None, found: str, expected: str) -> None:
        super().__init__(found)
        self.key, self.found, self.expected = key, found, expected


def _parsed(text: str, source: str) -> object:
    try:
        fields = json.loads(
            text,
            object_pairs_hook=_without_twins,
            parse_constant=_no_constant,
            parse_float=_decimal,
            parse_int=_whole,
        )
        # A lone half of a character pair can be read but never written again.
        text_again = json.dumps(fields, ensure_ascii=False, default=str)
        text_again.encode("utf-8")
    except json.JSONDecodeError as error:
        found = _found_at(text, error.pos)
        raise _refused(source, error.lineno, found, f"JSON ({error.msg})") from error
    except _Refusal as error:
        raise _refused(source, None, error.found, error.expected, error.key) from error
    except UnicodeEncodeError as error:
        raise _refused(source, None, "half of a character pair", "whole characters") from error
    except RecursionError as error:
        raise _refused(source, None, "brackets nested too deep", "a unit") from error
    if not isinstance(fields, dict):
        raise _refused(source, 1, f"a {type(fields).__name__}", "an object in braces")
    return fields


def _found_at(text: str, place: int) -> str:
    if place >= len(text):
        return "the end of the text"
    found = text[place : place + 40]
    return shortened(masked(found) if _AFTER_IDENTITY.search(text[:place]) else found)


def _without_twins(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    fields: dict[str, Any] = {}
    for key, value in pairs:
        if key in fields:
            raise _Refusal(key[:80], f"the key {shortened(key)} twice", "each key once")
        fields[key] = value
    return fields


def _no_constant(word: str) -> NoReturn:
    raise _Refusal(None, word, "a finite number")


def _decimal(word: str) -> Decimal:
    try:
        number = Decimal(word)
    except InvalidOperation as error:
        raise _Refusal(None, shortened(word), "a finite number") from error
    if not math.isfinite(float(number)):
        raise _Refusal(None, shortened(word), "a finite number")
    return number


def _whole(word: str) -> int:
    if len(word) > LONGEST_WHOLE:
        raise _Refusal(None, shortened(word), f"a whole number of at most {LONGEST_WHOLE} digits")
    return int(word)


def problem_in(source: str, line: int | None, detail: ErrorDetails) -> Problem:
    """Return what a record does not take of a file, with its key, what was found and what was expected."""
    key = ".".join(str(step) for step in detail["loc"]) or None
    found = "nothing" if detail["type"] == "missing" else shortened(unspoken(detail["loc"], detail["input"]))
    return Problem(source, line, key, found, _expected(detail))


def _expected(detail: ErrorDetails) -> str:
    kind, context = detail["type"], detail.get("ctx", {})
    if kind == "literal_error":
        return f"one of {str(context['expected']).replace(chr(39), '')}"
    if kind == "value_error":
        return str(context["error"])
    return _PLAIN_WORDS.get(kind, detail["msg"][:1].lower() + detail["msg"][1:])


def _refused(
    source: str, line: int | None, found: str, expected: str, key: str | None = None
) -> BadInput:
    problem = Problem(source, line, key, found, expected)
    return BadInput(str(problem), (problem,))
