"""The ledger of each unit: lines are added, never changed; the database itself refuses to change one."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, Select, func, select

from data.storage.page import Page
from data.storage.tables import LEDGER, UNITS
from pricing.errors import NotFound, shortened
from pricing.records.cost import LedgerEntry, NumberedEntry

_LINES = select(LEDGER.c.unit_number, LEDGER.c.entry_json)


class LedgerStore:
    """The ledgers of a store."""

    def __init__(self, connection: Connection, at: str) -> None:
        self._connection = connection
        self._at = at

    def add(self, unit_number: str, entry: LedgerEntry) -> NumberedEntry:
        """Write an entry into the ledger of a stored unit.

        Raises:
            NotFound: No unit has this number.
        """
        self._check_unit(unit_number)
        row = {
            "unit_number": unit_number,
            "on": entry.on.isoformat(),
            "at": self._at,
            "reverses": entry.reverses,
            "lot": entry.lot,
            "entry_json": entry.model_dump_json(),
        }
        number = self._connection.execute(LEDGER.insert().returning(LEDGER.c.id).values(row)).scalar_one()
        return NumberedEntry(number=number, at=self._at, entry=entry)

    def entries(self, unit_number: str) -> tuple[NumberedEntry, ...]:
        """Return the whole ledger of a unit, in the order in which it was written.

        Raises:
            NotFound: No unit has this number.
        """
        self._check_unit(unit_number)
        query = select(LEDGER.c.id, LEDGER.c.at, LEDGER.c.entry_json).where(LEDGER.c.unit_number == unit_number)
        rows = self._connection.execute(query.order_by(LEDGER.c.id)).all()
        return tuple(
            NumberedEntry(number=number, at=at, entry=LedgerEntry.model_validate_json(text))
            for number, at, text in rows
        )

    def page(self, unit_number: str, *, limit: int, offset: int) -> Page[NumberedEntry]:
        """Return some of a unit's ledger, in the order in which it was written.

        Raises:
            NotFound: No unit has this number.
        """
        found = self.entries(unit_number)
        return Page(found[offset : offset + limit], len(found), offset)

    def of_lot(self, lot: str) -> dict[str, tuple[LedgerEntry, ...]]:
        """Return the shares of a lot by number of the unit, in the order in which units were written first.

        Raises:
            NotFound: No cost of this lot was divided.
        """
        found = self._by_unit(_LINES.where(LEDGER.c.lot == lot))
        if not found:
            raise NotFound(f"no lot {shortened(lot)} in the ledgers of the store")
        return found

    def by_unit(self) -> dict[str, tuple[LedgerEntry, ...]]:
        """Return every ledger by number of its unit, in the order of the numbers."""
        return dict(sorted(self._by_unit(_LINES).items()))

    def _by_unit(self, query: Select[Any]) -> dict[str, tuple[LedgerEntry, ...]]:
        found: dict[str, list[LedgerEntry]] = {}
        for row in self._connection.execute(query.order_by(LEDGER.c.id)).mappings():
            entry = LedgerEntry.model_validate_json(row["entry_json"])
            found.setdefault(row["unit_number"], []).append(entry)
        return {number: tuple(entries) for number, entries in found.items()}

    def _check_unit(self, number: str) -> None:
        """Let pass the number of a stored unit.

        Raises:
            NotFound: No unit has it.
        """
        query = select(func.count()).select_from(UNITS).where(UNITS.c.number == number)
        if not self._connection.execute(query).scalar_one():
            raise NotFound(f"no unit {shortened(number)} in the store")
