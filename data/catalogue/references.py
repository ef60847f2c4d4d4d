"""Names in a class file that must be described elsewhere in it: what is required, touched or compared."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import get_args

from data.catalogue.positions import Path
from data.catalogue.report import Report
from data.catalogue.rows import Row, Rows
from pricing.records.device_class import (
    COVERED,
    LOCK_STATES,
    STATUSES,
    Attribute,
    BeforeClosing,
    Carrier,
    Combination,
    Danger,
    Function,
    Lock,
    Part,
    Surface,
)
from pricing.records.unit import LiquidIndicator, Opened, Origin

_OPENED: tuple[str, ...] = get_args(Opened)
_LIQUID: tuple[str, ...] = get_args(LiquidIndicator)
_ORIGINS: tuple[str, ...] = get_args(Origin)
_States = tuple[Sequence[str] | None, Sequence[str]]
_FORMS = (
    "function:NAME=STATUS, part:NAME=ORIGIN, mark:SURFACE=KIND, lock:NAME=STATE, opened=STATE or liquid=STATE"
)


@dataclass(frozen=True)
class ClassRows:
    """The rows of one class file, table by table."""

    attributes: Rows[Attribute]
    functions: Rows[Function]
    surfaces: Rows[Surface]
    parts: Rows[Part]
    locks: Rows[Lock]
    combinations: Rows[Combination]
    before_closing: Rows[BeforeClosing]
    carriers: Rows[Carrier]
    dangers: Rows[Danger]


def report_references(rows: ClassRows, mark_kinds: Sequence[str], report: Report) -> None:
    """Report every name that is used but not described, every circle, and keys on the wrong kind of row."""
    _report_nesting(rows.attributes.rows, report)
    _report_misplaced_keys(rows.attributes.rows, report)
    _report_functions(rows, report)
    _report_parts(rows, report)
    for surface in rows.surfaces.rows:
        owner = () if surface.record.function is None else (surface.record.function,)
        _report_missing(owner, rows.functions.names, "a function", (*surface.path, "function"), report)
    for carrier in rows.carriers.rows:
        owner = () if carrier.record.function is None else (carrier.record.function,)
        _report_missing(owner, rows.functions.names, "a function", (*carrier.path, "function"), report)
    states = _known_states(rows, mark_kinds)
    for danger in rows.dangers.rows:
        _report_danger(danger, rows, states, report)
    for row in rows.combinations.rows:
        for condition in row.record.when:
            _report_condition(condition, (*row.path, "when"), states, report)


def _report_nesting(attributes: Sequence[Row[Attribute]], report: Report) -> None:
    groups = {row.record.name: row.record.within for row in attributes if row.record.kind == "group"}
    for row in attributes:
        parent = row.record.within
        if parent is None:
            continue
        path = (*row.path, "within")
        if row.record.kind != "group":
            report.add(path, parent, "only a group lies within another group")
        elif parent not in groups:
            report.add(path, parent, f"a group of this class: {_listed(groups)}")
        elif row.record.name in _ancestors(parent, {n: () if p is None else (p,) for n, p in groups.items()}):
            report.add(path, parent, "groups that do not go round in a circle")


def _report_misplaced_keys(attributes: Sequence[Row[Attribute]], report: Report) -> None:
    for row in attributes:
        attribute = row.record
        if attribute.kind != "number":
            for key, value, plain in (
                ("unit", attribute.unit, None),
                ("scale", attribute.scale, "linear"),
                ("effect", attribute.effect, "free"),
            ):
                if value != plain:
                    report.add((*row.path, key), value, f"no {key}, which only a number has")
        if attribute.kind != "choice" and attribute.options is not None:
            found = ", ".join(attribute.options)
            report.add((*row.path, "options"), found, "no options, which only a choice has")


def _report_functions(rows: ClassRows, report: Report) -> None:
    needs = {row.record.name: row.record.requires for row in rows.functions.rows}
    attributes = {row.record.name: row.record for row in rows.attributes.rows}
    for row in rows.functions.rows:
        function = row.record
        path: Path = (*row.path, "requires")
        _report_missing(function.requires, rows.functions.names, "a function", path, report)
        if function.name in {name for need in function.requires for name in _ancestors(need, needs)}:
            report.add(path, function.name, "functions that do not go round in a circle")
        for name, values in function.fitted_if.items():
            path = (*row.path, "fitted_if", name)
            _report_missing([name], rows.attributes.names, "an attribute", path, report)
            options = attributes[name].options if name in attributes else None
            _report_missing(values, options or values, "an option", path, report)


def _report_parts(rows: ClassRows, report: Report) -> None:
    functions = rows.functions.names
    harmed = (*functions, *rows.parts.names)
    for row in rows.parts.rows:
        part = row.record
        _report_missing(part.function, functions, "a function", (*row.path, "function"), report)
        _report_missing(part.touches, functions, "a function", (*row.path, "touches"), report)
        _report_missing(part.harm, harmed, "a function or part", (*row.path, "harm"), report)


def _report_danger(row: Row[Danger], rows: ClassRows, states: Mapping[str, _States], report: Report) -> None:
    danger = row.record
    owner = () if danger.function is None else (danger.function,)
    _report_missing(owner, rows.functions.names, "a function", (*row.path, "function"), report)
    _report_missing(danger.parts, rows.parts.names, "a part", (*row.path, "parts"), report)
    _report_missing(danger.fitted_if, rows.attributes.names, "an attribute", (*row.path, "fitted_if"), report)
    for condition in danger.signs:
        _report_condition(condition, (*row.path, "signs"), states, report)


def _known_states(rows: ClassRows, mark_kinds: Sequence[str]) -> dict[str, _States]:
    """Return what a condition may be about: kind -> names (None where it takes none) and states."""
    return {
        "function": (rows.functions.names, STATUSES),
        "part": (rows.parts.names, _ORIGINS),
        "mark": (rows.surfaces.names, (*mark_kinds, COVERED)),
        "lock": (rows.locks.names, LOCK_STATES),
        "opened": (None, _OPENED),
        "liquid": (None, _LIQUID),
    }


def _report_condition(condition: str, path: Path, known: Mapping[str, _States], report: Report) -> None:
    subject, equals, wanted = condition.partition("=")
    kind, colon, name = subject.partition(":")
    names, states = known.get(kind, (None, ()))
    if not equals or not states or bool(colon) != (names is not None):
        report.add(path, condition, _FORMS)
        return
    if names is not None:
        _report_missing([name], names, f"a {kind}", path, report)
    _report_missing(wanted.split("|"), states, "a state", path, report)


def _report_missing(
    used: Iterable[str], known: Iterable[str], what: str, path: Path, report: Report
) -> None:
    described = list(known)
    for name in used:
        if name not in described:
            report.add(path, name, f"{what} of this class: {_listed(described)}")


def _ancestors(start: str, parents: Mapping[str, Sequence[str]]) -> set[str]:
    """Return ``start`` and all that it hangs on, however deep."""
    found: set[str] = set()
    waiting = [start]
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            waiting.extend(parents.get(name, ()))
    return found


def _listed(names: Iterable[str], limit: int = 12) -> str:
    shown = list(names)
    return (", ".join(shown[:limit]) + (", ..." if len(shown) > limit else "")) or "none is described"
