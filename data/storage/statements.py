"""What was said of a unit, kept with the unit's facts and a digest of both. Appended, never changed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Generic, TypeVar

from sqlalchemy import Connection, Table, func, select

from data.storage.digest import digest_of
from data.storage.page import Page
from pricing.errors import NotFound
from pricing.records.base import Record
from pricing.records.unit import Unit

Said = TypeVar("Said", bound=Record)


@dataclass(frozen=True)
class Statement(Generic[Said]):
    """A record about a unit, with what it was made from.

    Attributes:
        number: Its number in the store.
        unit: The unit as it was then.
        said: What was said of it.
        at: When, ISO 8601.
        digest: SHA-256 over both JSON texts, unit first.
    """

    number: int
    unit: Unit
    said: Said
    at: str
    digest: str


class StatementStore(Generic[Said]):
    """Statements of one kind; a subclass names the kind, its record and its table."""

    kind: ClassVar[str]
    table: ClassVar[Table]
    record: type[Said]

    def __init__(self, connection: Connection, at: str) -> None:
        self._connection = connection
        self._at = at

    def add(self, unit: Unit, said: Said) -> Statement[Said]:
        """Keep what was said of a unit."""
        unit_text, said_text = unit.model_dump_json(by_alias=True), said.model_dump_json()
        digest = digest_of(unit_text, said_text)
        row = {"unit_number": unit.number, "at": self._at, "digest": digest}
        texts = {"unit_json": unit_text, "said_json": said_text}
        made = self._connection.execute(self.table.insert().returning(self.table.c.id).values(row | texts))
        return Statement(made.scalar_one(), unit, said, self._at, digest)

    def get(self, number: int) -> Statement[Said]:
        """Return one statement.

        Raises:
            NotFound: None has this number.
        """
        query = select(self.table).where(self.table.c.id == number)
        row = self._connection.execute(query).mappings().first()
        if row is None:
            raise NotFound(f"no {self.kind} {number} in the store")
        return Statement(
            number=row["id"],
            unit=Unit.model_validate_json(row["unit_json"]),
            said=self.record.model_validate_json(row["said_json"]),
            at=row["at"],
            digest=row["digest"],
        )

    def page(self, *, unit_number: str | None, limit: int, offset: int) -> Page[Statement[Said]]:
        """Return statements, the latest first, all or of one unit."""
        numbers, count = select(self.table.c.id), select(func.count()).select_from(self.table)
        if unit_number is not None:
            numbers = numbers.where(self.table.c.unit_number == unit_number)
            count = count.where(self.table.c.unit_number == unit_number)
        numbers = numbers.order_by(self.table.c.id.desc()).limit(limit).offset(offset)
        found = self._connection.execute(numbers).scalars().all()
        total = self._connection.execute(count).scalar_one()
        return Page(tuple(self.get(number) for number in found), total, offset)
