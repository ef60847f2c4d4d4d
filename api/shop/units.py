"""Units: into the store from files or requests, changed by version, found again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from api.shop.shop import Shop
from data.importing.unit_json import read_unit
from data.importing.units_csv import UnitsReading, read_units
from data.storage.page import Page
from data.storage.units import StoredUnit
from pricing.errors import BadInput, Problem, counted
from pricing.records.device_class import CLEAN, COVERED, DeviceClass
from pricing.records.sales_table import ConditionTable
from pricing.records.unit import Unit
from pricing.records.unit_columns import check_unit

NO_SYMPTOM = "works poorly, and nobody wrote down how"
_NUMBER_COLUMN = "number"


@dataclass(frozen=True)
class UnitsImport:
    """What an import of units did.

    Attributes:
        units: What was kept.
        problems: What was wrong, place by place; those rows were left out.
        notices: What else the reader should know.
    """

    units: tuple[StoredUnit, ...]
    problems: tuple[Problem, ...] = ()
    notices: tuple[str, ...] = ()


def import_units(
    shop: Shop, path: Path, device_class: DeviceClass, *, keep_good: bool = False
) -> UnitsImport:
    """Keep the units of a file in the store: CSV, or JSON for one unit.

    A CSV column "number" gives the units their numbers; the others get the next free one. A unit in the store
    is one in hand: what the file does not say of a function is untested, never unknown.

    Raises:
        BadInput: A row is bad and ``keep_good`` is not set, or a number is taken.
    """
    if path.suffix.lower() == ".json":
        return UnitsImport((add_unit(shop, read_unit(path)),))
    reading = read_units(path, device_class)
    if reading.bad and not keep_good:
        told = counted(len(reading.bad), "bad row")
        raise BadInput(f"{told} in {path.name}; nothing was taken from it", tuple(reading.problems))
    with shop.store.writing(shop.now()) as work:
        kept = tuple(work.units.add(unit) for unit in units_of_rows(reading, device_class))
    notices = (*reading.notices, "what the file does not say of a function counts as untested in the store")
    return UnitsImport(kept, tuple(reading.problems), notices)


def read_unit_file(path: Path) -> Unit:
    """Return the unit in a JSON file.

    Raises:
        NotFound: There is no such file.
        BadInput: It is no JSON, or no unit; one Problem for each mistake.
    """
    return read_unit(path)


def add_unit(shop: Shop, unit: Unit) -> StoredUnit:
    """Keep a new unit.

    Raises:
        BadInput: It does not fit its class, or its number is taken.
        NotFound: There is no such class.
    """
    check_unit(unit, shop.class_called(unit.device_class))
    with shop.store.writing(shop.now()) as work:
        return work.units.add(unit)


def change_unit(shop: Shop, unit: Unit, version: int) -> StoredUnit:
    """Replace a unit that is still at ``version``.

    Raises:
        BadInput: It does not fit its class.
        NotFound: No unit has this number, or there is no such class.
        StaleVersion: It was changed meanwhile.
    """
    check_unit(unit, shop.class_called(unit.device_class))
    with shop.store.writing(shop.now()) as work:
        return work.units.change(unit, version)


def get_unit(shop: Shop, number: str) -> StoredUnit:
    """Return a unit as it is now.

    Raises:
        NotFound: No unit has this number.
    """
    with shop.store.reading() as work:
        return work.units.get(number)


def given_or_stored(shop: Shop, unit: Unit | None, number: str | None) -> Unit:
    """Return the unit itself, or the one that is stored under the number.

    Raises:
        BadInput: Neither or both are given.
        NotFound: No unit has this number.
    """
    if unit is not None and number is None:
        return unit
    if unit is None and number is not None:
        return get_unit(shop, number).unit
    found = "neither" if unit is None else "both"
    problem = Problem("request", None, "unit", found, "a unit, or the number of a stored one")
    raise BadInput(str(problem), (problem,))


def unit_history(shop: Shop, number: str) -> tuple[StoredUnit, ...]:
    """Return every version of a unit, the first first.

    Raises:
        NotFound: No unit has this number.
    """
    with shop.store.reading() as work:
        return work.units.history(number)


def list_units(shop: Shop, *, device_class: str | None = None, limit: int, offset: int) -> Page[StoredUnit]:
    """Return units in order of their numbers, all or of one class; ``limit`` 0 means all."""
    with shop.store.reading() as work:
        return work.units.page(device_class=device_class, limit=limit, offset=offset)


def units_of_rows(reading: UnitsReading, device_class: DeviceClass) -> Iterator[Unit]:
    """Yield the good rows of a units file as units.

    A CSV has no place for a symptom, so "works poorly" gets one that says that nobody wrote it down.
    """
    place = reading.header.index(_NUMBER_COLUMN) if _NUMBER_COLUMN in reading.header else None
    for row in range(reading.table.rows):
        if row not in reading.bad:
            number = None if place is None else reading.cells[row][place].strip() or None
            yield _unit_of_row(reading.table, row, device_class, number)


def _unit_of_row(table: ConditionTable, row: int, device_class: DeviceClass, number: str | None) -> Unit:
    stated: dict[str, str | None] = {}
    for attribute in device_class.attributes:
        if attribute.name in table.numbers:
            amount = table.numbers[attribute.name][row].item()
            stated[attribute.name] = None if amount != amount else f"{amount:.10g}"
        elif attribute.name in table.texts:
            stated[attribute.name] = table.texts[attribute.name].word(row)
    kinds = {surface: (column.word(row) or "") for surface, column in table.marks.items()}
    share = table.numbers["battery_share"][row].item() if "battery_share" in table.numbers else float("nan")
    opened = table.texts["opened"].word(row) if "opened" in table.texts else None
    return Unit.model_validate({
        "number": number,
        "class": device_class.name,
        "attributes": stated,
        "functions": {
            name: {"status": status, "symptom": NO_SYMPTOM if status == "impaired" else None}
            for name, column in table.faults.items()
            if (status := column.word(row)) is not None
        },
        "marks": [
            {"surface": surface, "kind": kind}
            for surface, joined in kinds.items()
            for kind in joined.split("+")
            if kind not in ("", CLEAN, COVERED)
        ],
        "looked_at": [surface for surface, joined in kinds.items() if joined == CLEAN],
        "covered": [surface for surface, joined in kinds.items() if joined == COVERED],
        "parts": [
            {"part": name, "origin": origin}
            for name, column in table.parts.items()
            if (origin := column.word(row)) is not None
        ],
        "locks": {
            name: state for name, column in table.locks.items() if (state := column.word(row)) is not None
        },
        "opened": opened or "not known",
        "battery_share": None if share != share else f"{share:.10g}",
    })  # fmt: skip
