"""Device classes from TOML files: the user's folder is looked at first, then the classes that come along.

A class file has a table ``[class]`` with ``name`` and, if wished, ``title``; then any number of
``[[attribute]]``, ``[[function]]``, ``[[surface]]``, ``[[part]]``, ``[[lock]]``, ``[[combination]]``,
``[[before_closing]]``, ``[[carrier]]`` and ``[[danger]]``, whose keys are the fields of the records in
``pricing.records.device_class``.
``[grade]`` changes the rule that turns marks into a grade, ``[prior]`` what is believed of faults before any
sale, ``[waiting]`` of the time to sell, ``[lot]`` of units in lots that nobody has tested; what they leave out
keeps its default. The class's name and each attribute's name and kind are enough.

``without`` in ``[class]`` lists what goods of this kind do not have ("stored data", "liquid indicator").
``like = "phone"`` in ``[class]`` takes over the functions, surfaces, parts, locks, combinations, lines before
closing, carriers and dangers of the class ``phone`` that comes along, but neither its attributes nor its grade and
prior.
An own row with the name of an inherited one changes only the keys that it states: to say that a tablet's
earpiece is optional, two lines are enough. A combination has no name; own ones are added.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar, get_args

from data.catalogue.named_files import NamedFiles, packaged_names
from data.catalogue.positions import Positions
from data.catalogue.references import ClassRows, report_references
from data.catalogue.report import Report
from data.catalogue.rows import Rows, read_rows, report_unknown_keys
from data.catalogue.rules import read_grade_rule, read_lot_rates, read_prior, read_waiting
from data.catalogue.toml_text import parse_toml, read_toml_text
from pricing.records.base import Record
from pricing.records.device_class import (
    Attribute,
    BeforeClosing,
    Carrier,
    Combination,
    Danger,
    DeviceClass,
    Function,
    Lock,
    Part,
    Surface,
    Trait,
)

Kind = TypeVar("Kind", bound=Record)

_ROW_TABLES = ("attribute", "function", "surface", "part", "lock", "combination", "before_closing", "carrier", "danger")
_TABLES = ("class", *_ROW_TABLES, "grade", "prior", "waiting", "lot")
_HEAD_KEYS = ("name", "title", "like")
_PACKAGE = "data.catalogue.classes"


def class_names(folder: Path | None = None) -> tuple[str, ...]:
    """Return the names of the classes there are, sorted: those that come along and those in ``folder``."""
    return _FILES.names(folder)


def find_class(name: str, folder: Path | None = None) -> DeviceClass:
    """Return the class of this name, from ``folder`` if it has one, else from those that come along.

    Raises:
        NotFound: There is none; the message lists those there are.
        BadInput: Its file has problems, or describes a class of another name than the file's.
    """
    return _FILES.find(name, folder)


def read_class(path: Path) -> DeviceClass:
    """Return the class that a TOML file describes.

    Raises:
        NotFound: There is no such file.
        BadInput: It cannot be read, is not UTF-8, or something in it is wrong; one Problem for each mistake.
    """
    return class_from_text(read_toml_text(path, "a device class as TOML"), path.name)


def class_from_text(text: str, source: str) -> DeviceClass:
    """Return the class that a TOML text describes; ``source`` names the text in messages.

    Raises:
        BadInput: With one Problem for each mistake.
    """
    document = parse_toml(text, source, "a device class: at least [class] with a name")
    report = Report(source, Positions(text))
    report_unknown_keys(document, _TABLES, (), report)
    head = _read_head(document.get("class"), report)
    without = _read_without(document.get("class"), report)
    rows = _read_tables(document, _inherited(head, report), report)
    fault_prior = read_prior(document.get("prior"), report)
    mark_kinds = tuple(fault_prior.marks)
    grade_rule = read_grade_rule(document.get("grade"), mark_kinds, report)
    waiting = read_waiting(document.get("waiting"), report)
    lot_rates = read_lot_rates(document.get("lot"), rows.functions.names, report)
    report_references(rows, mark_kinds, report)
    report.raise_if_any()
    return DeviceClass(
        name=head["name"],
        title=head.get("title") or head["name"],
        without=without,
        attributes=rows.attributes.records,
        functions=rows.functions.records,
        surfaces=rows.surfaces.records,
        parts=rows.parts.records,
        locks=rows.locks.records,
        combinations=rows.combinations.records,
        before_closing=rows.before_closing.records,
        carriers=rows.carriers.records,
        dangers=rows.dangers.records,
        grade_rule=grade_rule,
        fault_prior=fault_prior,
        waiting=waiting,
        lot_rates=lot_rates,
    )


def _read_tables(document: Mapping[str, Any], like: DeviceClass, report: Report) -> ClassRows:
    def read(table: str, kind: type[Kind], inherited: tuple[Kind, ...] = ()) -> Rows[Kind]:
        """Return the rows of one table of this document."""
        return read_rows(document.get(table), table, kind, inherited, report)

    return ClassRows(
        attributes=read("attribute", Attribute),
        functions=read("function", Function, like.functions),
        surfaces=read("surface", Surface, like.surfaces),
        parts=read("part", Part, like.parts),
        locks=read("lock", Lock, like.locks),
        combinations=read("combination", Combination, like.combinations),
        before_closing=read("before_closing", BeforeClosing, like.before_closing),
        carriers=read("carrier", Carrier, like.carriers),
        dangers=read("danger", Danger, like.dangers),
    )


def _read_head(values: object, report: Report) -> dict[str, str]:
    if not isinstance(values, dict):
        report.add(("class", "name"), values, "a table [class] with a name")
        return {}
    report_unknown_keys(values, (*_HEAD_KEYS, "without"), ("class",), report)
    head: dict[str, str] = {}
    for key in _HEAD_KEYS:
        value = values.get(key)
        if isinstance(value, str) and value.strip():
            head[key] = value
        elif value is not None or key == "name":
            report.add(("class", key), value, "text in quotes, not empty")
    return head


def _read_without(head: object, report: Report) -> tuple[Trait, ...]:
    stated = head.get("without", []) if isinstance(head, dict) else []
    if not isinstance(stated, list) or any(trait not in get_args(Trait) for trait in stated):
        report.add(("class", "without"), stated, f"a list of any of {', '.join(get_args(Trait))}")
        return ()
    return tuple(stated)


def _inherited(head: Mapping[str, str], report: Report) -> DeviceClass:
    like = head.get("like")
    if like is None:
        return DeviceClass(name="nothing")
    # A packaged class may be like another; one that is like itself would never end.
    names = [name for name in packaged_names(_PACKAGE) if name != head.get("name")]
    if like not in names:
        report.add(("class", "like"), like, f"a class that comes along: {', '.join(names)}")
        return DeviceClass(name="nothing")
    return _FILES.come_along(like)


def _line_of_name(path: Path) -> int | None:
    return Positions(path.read_text("utf-8-sig")).line_of(("class", "name"))


_FILES = NamedFiles(
    package=_PACKAGE,
    none="no device class",
    place="class.name",
    name_of=lambda device_class: device_class.name,
    from_text=class_from_text,
    read=read_class,
    line_of=_line_of_name,
)
