"""Units with a version; every version stays in the history."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, RowMapping, func, select

from data.storage.page import Page
from data.storage.tables import UNIT_VERSIONS, UNITS
from pricing.errors import BadInput, NotFound, Problem, StaleVersion, shortened
from pricing.records.unit import Unit


@dataclass(frozen=True)
class StoredUnit:
    """A unit as it was at one version.

    Attributes:
        unit: The unit; its number is set.
        version: 1 for the first, one more for each change.
        at: When this version was stored, ISO 8601.
    """

    unit: Unit
    version: int
    at: str


class UnitStore:
    """The units of a store."""

    def __init__(self, connection: Connection, at: str) -> None:
        self._connection = connection
        self._at = at

    def add(self, unit: Unit) -> StoredUnit:
        """Store a new unit; one without a number gets the next free one ("U0001").

        Raises:
            BadInput: Another unit has this number.
        """
        number = unit.number or self._next_number()
        if self._version(number) is not None:
            expected = "a number that no unit in the store has"
            problem = Problem("unit", None, "number", shortened(number), expected)
            raise BadInput(str(problem), (problem,))
        return self._write(unit.model_copy(update={"number": number}), 1)

    def change(self, unit: Unit, version: int) -> StoredUnit:
        """Replace a unit that is still at ``version``; the old version stays in the history.

        Raises:
            NotFound: No unit has this number.
            StaleVersion: The unit was changed meanwhile.
        """
        current = self._version(unit.number or "")
        if current is None:
            raise NotFound(f"no unit {shortened(unit.number)} in the store")
        if current != version:
            raise StaleVersion(
                f"unit {unit.number} is at version {current}, not {version}: somebody changed it meanwhile; "
                "read it again, then repeat the change"
            )
        return self._write(unit, version + 1)

    def get(self, number: str) -> StoredUnit:
        """Return a unit as it is now.

        Raises:
            NotFound: No unit has this number.
        """
        query = select(UNITS.c.unit_json, UNITS.c.version, UNITS.c.at).where(UNITS.c.number == number)
        row = self._connection.execute(query).mappings().first()
        if row is None:
            raise NotFound(f"no unit {shortened(number)} in the store")
        return _stored_unit(row)

    def history(self, number: str) -> tuple[StoredUnit, ...]:
        """Return every version of a unit, the first first.

        Raises:
            NotFound: No unit has this number.
        """
        kept = UNIT_VERSIONS.c
        query = select(kept.unit_json, kept.version, kept.at).where(kept.number == number)
        rows = self._connection.execute(query.order_by(kept.version)).mappings().all()
        if not rows:
            raise NotFound(f"no unit {shortened(number)} in the store")
        return tuple(_stored_unit(row) for row in rows)

    def page(self, *, device_class: str | None, limit: int, offset: int) -> Page[StoredUnit]:
        """Return units in order of their number, all or of one class; ``limit`` 0 or less means all."""
        query = select(UNITS.c.unit_json, UNITS.c.version, UNITS.c.at)
        count = select(func.count()).select_from(UNITS)
        if device_class is not None:
            query = query.where(UNITS.c.device_class == device_class)
            count = count.where(UNITS.c.device_class == device_class)
        query = query.order_by(UNITS.c.number).limit(limit if limit > 0 else -1).offset(offset)
        rows = self._connection.execute(query).mappings()
        total = self._connection.execute(count).scalar_one()
        return Page(tuple(_stored_unit(row) for row in rows), total, offset)

    def _version(self, number: str) -> int | None:
        return self._connection.execute(select(UNITS.c.version).where(UNITS.c.number == number)).scalar()

    def _next_number(self) -> str:
        count = self._connection.execute(select(func.count()).select_from(UNITS)).scalar_one() + 1
        while self._version(f"U{count:04d}") is not None:
            count += 1
        return f"U{count:04d}"

    def _write(self, unit: Unit, version: int) -> StoredUnit:
        text = unit.model_dump_json(by_alias=True)
        row = {"version": version, "at": self._at, "unit_json": text}
        if version == 1:
            first = row | {"number": unit.number, "device_class": unit.device_class}
            self._connection.execute(UNITS.insert().values(first))
        else:
            changed = UNITS.update().where(UNITS.c.number == unit.number)
            self._connection.execute(changed.values(row | {"device_class": unit.device_class}))
        self._connection.execute(UNIT_VERSIONS.insert().values(row | {"number": unit.number}))
        return StoredUnit(unit, version, self._at)


def _stored_unit(row: RowMapping) -> StoredUnit:
    return StoredUnit(Unit.model_validate_json(row["unit_json"]), row["version"], row["at"])
