"""Units as columns: the one way from a unit in hand to the table that the price model reads."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal, InvalidOperation

import numpy as np

from pricing.errors import Problem, refused, shortened
from pricing.records.device_class import CLEAN, COVERED, DeviceClass
from pricing.records.sales_table import ConditionTable, FloatArray, TextColumn
from pricing.records.unit import Unit, status_now


def columns_of_units(units: Sequence[Unit], device_class: DeviceClass) -> ConditionTable:
    """Return the units as columns, with statuses as they count today (voided tests are untested).

    Raises:
        BadInput: A unit is of another class, names what the class does not describe, or a number is none.
    """
    for unit in units:
        check_unit(unit, device_class)
    numbers: dict[str, FloatArray] = {}
    texts: dict[str, TextColumn] = {}
    for attribute in device_class.attributes:
        stated = [unit.attributes.get(attribute.name) for unit in units]
        if attribute.kind == "number":
            numbers[attribute.name] = np.array([_as_float(value) for value in stated], dtype=np.float64)
        else:
            texts[attribute.name] = TextColumn.from_words([None if v is None else str(v) for v in stated])
    shares = [None if unit.battery_share is None else float(unit.battery_share) for unit in units]
    numbers["battery_share"] = np.array([np.nan if s is None else s for s in shares], dtype=np.float64)
    texts["opened"] = TextColumn.from_words([None if u.opened == "not known" else u.opened for u in units])
    return ConditionTable(
        rows=len(units),
        numbers=numbers,
        texts=texts,
        faults={
            function.name: TextColumn.from_words([status_now(function, unit, device_class) for unit in units])
            for function in device_class.functions
        },
        marks={
            surface.name: TextColumn.from_words([_marks_of(unit, surface.name) for unit in units])
            for surface in device_class.surfaces
        },
        parts={
            part.name: TextColumn.from_words([_origin_of(unit, part.name) for unit in units])
            for part in device_class.parts
        },
        locks={
            lock.name: TextColumn.from_words([_lock_of(unit, lock.name) for unit in units])
            for lock in device_class.locks
        },
    )


def check_unit(unit: Unit, device_class: DeviceClass, source: str = "unit") -> None:
    """Check a unit against its class.

    Raises:
        BadInput: With one Problem for each name or value that the class does not know.
    """
    problems: list[Problem] = []

    def report(column: str, found: object, expected: str) -> None:
        """Note one problem."""
        problems.append(Problem(source, None, column, shortened(found), expected))

    if unit.device_class != device_class.name:
        report("class", unit.device_class, f"the class {device_class.name}")
    for name, value in unit.attributes.items():
        attribute = device_class.attributes_by_name.get(name)
        if attribute is None:
            report(f"attributes.{name}", name, f"one of {_some(device_class.attributes_by_name)}")
        elif value is not None and attribute.kind == "number" and _not_a_number(value):
            report(f"attributes.{name}", value, "a number")
        elif value is not None and attribute.options is not None and str(value) not in attribute.options:
            report(f"attributes.{name}", value, f"one of {', '.join(attribute.options)}")
    named: list[tuple[str, Iterable[str], Mapping[str, object]]] = [
        ("functions", unit.functions, device_class.functions_by_name),
        ("marks", [mark.surface for mark in unit.marks], device_class.surfaces_by_name),
        ("looked_at", unit.looked_at, device_class.surfaces_by_name),
        ("covered", unit.covered, device_class.surfaces_by_name),
        ("parts", [fitted.part for fitted in unit.parts], device_class.parts_by_name),
        ("opened_parts", unit.opened_parts, device_class.parts_by_name),
        ("locks", unit.locks, device_class.locks_by_name),
    ]
    for field, names, known in named:
        for name in names:
            if name not in known:
                report(f"{field}.{name}", name, f"one of {_some(known)}")
    for mark in unit.marks:
        if mark.kind not in device_class.fault_prior.marks:
            report("marks.kind", mark.kind, f"one of {', '.join(device_class.fault_prior.marks)}")
    if problems:
        raise refused(source, problems)


def _some(names: Iterable[str], limit: int = 8) -> str:
    listed = list(names)
    if not listed:
        return "nothing, because the class describes none"
    return ", ".join(listed[:limit]) + (", ..." if len(listed) > limit else "")


def _not_a_number(value: str | Decimal) -> bool:
    try:
        return not Decimal(value).is_finite()
    except InvalidOperation:
        return True


def _as_float(value: str | Decimal | None) -> float:
    return np.nan if value is None else float(value)


def _marks_of(unit: Unit, surface: str) -> str | None:
    kinds = sorted({mark.kind for mark in unit.marks if mark.surface == surface})
    if kinds:
        return "+".join(kinds)
    if surface in unit.covered:
        return COVERED
    return CLEAN if surface in unit.looked_at else None


def _origin_of(unit: Unit, part: str) -> str | None:
    origins = [fitted.origin for fitted in unit.parts if fitted.part == part and fitted.origin != "unknown"]
    return origins[-1] if origins else None


def _lock_of(unit: Unit, lock: str) -> str:
    check = unit.locks.get(lock)
    return "not checked" if check is None else check.state
