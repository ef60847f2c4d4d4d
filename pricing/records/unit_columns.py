"""Units as columns: the one way from a unit in hand to the table that the price model reads."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

import numpy as np

from pricing.errors import Problem, refused, shortened
from pricing.records.device_class import CLEAN, COVERED, DeviceClass
from pricing.records.sales_table import ConditionTable, TextColumn
from pricing.records.unit import Unit, status_now


@dataclass(frozen=True, eq=False)
class UnitCells:
    """The cells of one unit by column, named as in ``ConditionTable``.

    Attributes:
        numbers: NaN for not stated.
        texts, faults, marks, parts, locks: None for not stated.
    """

    numbers: Mapping[str, float]
    texts: Mapping[str, str | None]
    faults: Mapping[str, str | None]
    marks: Mapping[str, str | None]
    parts: Mapping[str, str | None]
    locks: Mapping[str, str | None]


def cells_of_unit(unit: Unit, device_class: DeviceClass) -> UnitCells:
    """Return the unit's cells, with statuses as they count today (voided tests are untested).

    Raises:
        BadInput: The unit is of another class, names what the class does not describe, or a number is none.
    """
    check_unit(unit, device_class)
    numbers: dict[str, float] = {}
    texts: dict[str, str | None] = {}
    for attribute in device_class.attributes:
        stated = unit.attributes.get(attribute.name)
        if attribute.kind == "number":
            numbers[attribute.name] = _as_float(stated)
        else:
            texts[attribute.name] = str(stated) if stated is not None and str(stated) else None
    numbers["battery_share"] = _as_float(unit.battery_share)
    texts["opened"] = None if unit.opened == "not known" else unit.opened
    return UnitCells(
        numbers=numbers,
        texts=texts,
        faults={function.name: status_now(function, unit, device_class) for function in device_class.functions},
        marks=_marks_of(unit, device_class),
        parts=dict.fromkeys(device_class.parts_by_name) | _origins_of(unit),
        locks={lock.name: _lock_of(unit, lock.name) for lock in device_class.locks},
    )


def columns_of_units(units: Sequence[Unit], device_class: DeviceClass) -> ConditionTable:
    """Return the units as columns; see ``cells_of_unit``.

    Raises:
        BadInput: A unit is of another class, names what the class does not describe, or a number is none.
    """
    cells = [cells_of_unit(unit, device_class) for unit in units]
    numeric = [each.name for each in device_class.attributes if each.kind == "number"]
    worded = [each.name for each in device_class.attributes if each.kind != "number"]
    return ConditionTable(
        rows=len(units),
        numbers={
            name: np.array([each.numbers[name] for each in cells], dtype=np.float64)
            for name in (*numeric, "battery_share")
        },
        texts=_columns([each.texts for each in cells], (*worded, "opened")),
        faults=_columns([each.faults for each in cells], device_class.functions_by_name),
        marks=_columns([each.marks for each in cells], device_class.surfaces_by_name),
        parts=_columns([each.parts for each in cells], device_class.parts_by_name),
        locks=_columns([each.locks for each in cells], device_class.locks_by_name),
    )


def _columns(cells: Sequence[Mapping[str, str | None]], names: Iterable[str]) -> dict[str, TextColumn]:
    return {name: TextColumn.from_words([each[name] for each in cells]) for name in names}


def cells_of_row(table: ConditionTable, row: int) -> UnitCells:
    """Return the cells of one row of a table."""
    return UnitCells(
        numbers={name: float(column[row]) for name, column in table.numbers.items()},
        texts=_words(table.texts, row),
        faults=_words(table.faults, row),
        marks=_words(table.marks, row),
        parts=_words(table.parts, row),
        locks=_words(table.locks, row),
    )


def _words(columns: Mapping[str, TextColumn], row: int) -> dict[str, str | None]:
    return {name: column.word(row) for name, column in columns.items()}


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


def _marks_of(unit: Unit, device_class: DeviceClass) -> dict[str, str | None]:
    found: dict[str, str | None] = dict.fromkeys(device_class.surfaces_by_name)
    found |= dict.fromkeys(unit.looked_at, CLEAN) | dict.fromkeys(unit.covered, COVERED)
    for surface in {mark.surface for mark in unit.marks}:
        found[surface] = "+".join(sorted({mark.kind for mark in unit.marks if mark.surface == surface}))
    return found


def _origins_of(unit: Unit) -> dict[str, str | None]:
    return {fitted.part: fitted.origin for fitted in unit.parts if fitted.origin != "unknown"}


def _lock_of(unit: Unit, lock: str) -> str:
    check = unit.locks.get(lock)
    return "not checked" if check is None else check.state
