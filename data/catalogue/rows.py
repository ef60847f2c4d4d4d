"""From the tables of a class file to records, one row at a time, so that one bad row never hides the next."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, Generic, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from data.catalogue.positions import Path
from data.catalogue.report import Report
from pricing.records.base import Record
from pricing.records.device_class import BeforeClosing, Combination

Kind = TypeVar("Kind", bound=Record)
Values = Mapping[str, Any]

_EXPECTED = {
    "string_type": "text in quotes",
    "bool_type": "true or false, without quotes",
    "tuple_type": "a list in square brackets",
    "dict_type": "a table",
    "model_type": "a table",
    "float_type": "a number, without quotes",
    "int_type": "a whole number, without quotes",
    "string_too_short": "at least one character",
    "too_short": "at least one entry",
}


@dataclass(frozen=True)
class Row(Generic[Kind]):
    """A record and the path of the table that it was read from; ("class", "like") when it was inherited."""

    path: Path
    record: Kind


@dataclass(frozen=True)
class Rows(Generic[Kind]):
    """The good rows of one array of tables, and the names of all of them, bad ones too.

    The names let a reference to a bad row stand: the row is reported once, not again by each reference.
    """

    rows: tuple[Row[Kind], ...]
    names: tuple[str, ...]

    @property
    def records(self) -> tuple[Kind, ...]:
        """The records in the file's order, inherited ones first."""
        return tuple(row.record for row in self.rows)


def read_rows(
    values: object, table: str, kind: type[Kind], inherited: Iterable[Kind], report: Report
) -> Rows[Kind]:
    """Return the rows of one array of tables, after those inherited; bad ones are reported and left out.

    An own row with the name of an inherited one changes the keys that it states, and keeps its place.
    """
    rows = {_identity(record): Row(("class", "like"), record) for record in inherited}
    stated: dict[str, int] = {}
    for index, own in enumerate(_tables(values, table, report)):
        path: Path = (table, index)
        given = own.get(_naming_key(kind))
        name = given if isinstance(given, str) else ""
        base = rows.get(name) if name not in stated else None
        complete = own if base is None else _merged(_plain(base.record), own)
        record = read_record(complete, kind, path, report)
        if name in stated:
            expected = f"another {_naming_key(kind)}: [[{table}]] number {stated[name] + 1} has it already"
            report.add((*path, _naming_key(kind)), name, expected)
        elif record is not None:
            rows[_identity(record)] = Row(path, record)
        if name:
            stated.setdefault(name, index)
    return Rows(tuple(rows.values()), tuple({**dict.fromkeys(rows), **stated}))


def read_unnamed_rows(values: object, table: str, kind: type[Kind], report: Report) -> tuple[Kind, ...]:
    """Return the rows of an array of tables that have no name; bad ones are reported and left out."""
    read = (read_record(row, kind, (table, place), report) for place, row in enumerate(_tables(values, table, report)))
    return tuple(record for record in read if record is not None)


def read_record(values: Values, kind: type[Kind], path: Path, report: Report) -> Kind | None:
    """Return one table as a record, or None after reporting each key that is wrong."""
    _report_endless(values, path, report)
    try:
        return kind.model_validate(_tuples(values), strict=True)
    except ValidationError as error:
        for detail in error.errors(include_url=False):
            _report_detail(detail, kind, path, report)
    return None


def merged_with_defaults(values: Values, default: Record) -> dict[str, Any]:
    """Return the default record's values, changed where the table states something else."""
    return _merged(default.model_dump(), values)


def report_unknown_keys(values: Values, known: Iterable[str], path: Path, report: Report) -> None:
    """Report every key of a table that is not known."""
    names = list(known)
    for key in values:
        if key not in names:
            report.add((*path, key), key, _one_of(key, names))


def _tables(values: object, table: str, report: Report) -> list[Values]:
    if values is None:
        return []
    if not isinstance(values, list) or not all(isinstance(row, dict) for row in values):
        report.add((table,), values, f"tables that begin with [[{table}]]")
        return []
    return values


def _naming_key(kind: type[Record]) -> str:
    return "ask" if kind is BeforeClosing else "name"


def _identity(record: Record) -> str:
    if isinstance(record, Combination):  # has no name: the same facts may have several outcomes
        return str((record.when, record.say))
    return str(getattr(record, _naming_key(type(record))))


def _plain(record: Record) -> dict[str, Any]:
    return record.model_dump(exclude_defaults=True)


def _merged(base: Values, own: Values) -> dict[str, Any]:
    both = dict(base)
    for key, value in own.items():
        earlier = both.get(key)
        if isinstance(earlier, dict) and isinstance(value, dict) and key != "fitted_if":
            both[key] = _merged(earlier, value)
        else:
            both[key] = value
    return both


def _tuples(value: Any) -> Any:  # noqa: ANN401 - whatever TOML holds
    if isinstance(value, list | tuple):
        return tuple(_tuples(entry) for entry in value)
    if isinstance(value, dict):
        return {key: _tuples(entry) for key, entry in value.items()}
    return value


def _report_endless(values: Values, path: Path, report: Report) -> None:
    for key, value in values.items():
        if isinstance(value, dict):
            _report_endless(value, (*path, key), report)
        elif isinstance(value, float) and not math.isfinite(value):
            report.add((*path, key), value, "a finite number")


def _report_detail(detail: ErrorDetails, kind: type[Record], path: Path, report: Report) -> None:
    place = (*path, *detail["loc"])
    key = str(detail["loc"][-1]) if detail["loc"] else ""
    if detail["type"] == "missing":
        report.add(place, None, f"the key {key}")
    elif detail["type"] == "extra_forbidden":
        report.add(place, key, _one_of(key, _keys_at(kind, detail["loc"][:-1])))
    elif not (isinstance(detail["input"], float) and not math.isfinite(detail["input"])):
        report.add(place, detail["input"], _EXPECTED.get(detail["type"]) or _plainly(detail["msg"]))


def _plainly(message: str) -> str:
    # A record's own check says what it found, then what it expected.
    _, expects, own = message.partition("; expected ")
    if expects:
        return own
    if "a column with a fixed meaning" in message:
        return "another name, because a column of this name has a fixed meaning"
    return message.removeprefix("Input should be ").removeprefix("Value error, ")


def _keys_at(kind: type[BaseModel], location: tuple[int | str, ...]) -> list[str]:
    for key in location:
        field = kind.model_fields.get(str(key))
        inner = None if field is None else field.annotation
        if not (isinstance(inner, type) and issubclass(inner, BaseModel)):
            return []
        kind = inner
    return list(kind.model_fields)


def _one_of(key: str, known: list[str]) -> str:
    if not known:
        return "no such key here"
    near = get_close_matches(key, known, n=1)
    return f"one of {', '.join(known)}" + (f" (perhaps {near[0]}?)" if near else "")
