"""What buyers accepted of published listings: every answer is kept as it came, complete or not."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, RowMapping, func, select

from data.storage.digest import digest_of
from data.storage.page import Page
from data.storage.tables import ACCEPTANCES
from pricing.records.acceptance import Acceptance


@dataclass(frozen=True)
class StoredAcceptance:
    """A buyer's answer as it is kept.

    Attributes:
        number: Its number in the store.
        listing_number: The listing that it answers.
        acceptance: The answer, line by line.
        at: When it came, ISO 8601.
        digest: SHA-256 over number of the listing, time and answer.
        intact: Whether the digest is still the right one.
    """

    number: int
    listing_number: int
    acceptance: Acceptance
    at: str
    digest: str
    intact: bool


class AcceptanceStore:
    """The buyers' answers of a store."""

    def __init__(self, connection: Connection, at: str) -> None:
        self._connection = connection
        self._at = at

    def add(self, listing_number: int, acceptance: Acceptance) -> StoredAcceptance:
        """Keep an answer to a listing that is in the store."""
        text = acceptance.model_dump_json()
        digest = digest_of(str(listing_number), self._at, text)
        row = {
            "listing_number": listing_number,
            "buyer": acceptance.buyer,
            "complete": acceptance.complete,
            "at": self._at,
            "digest": digest,
            "acceptance_json": text,
        }
        made = self._connection.execute(ACCEPTANCES.insert().returning(ACCEPTANCES.c.id).values(row))
        return StoredAcceptance(made.scalar_one(), listing_number, acceptance, self._at, digest, intact=True)

    def page(
        self, listing_number: int, *, buyer: str | None = None, limit: int, offset: int
    ) -> Page[StoredAcceptance]:
        """Return the answers to a listing, the latest first, all or of one buyer; ``limit`` 0 means all."""
        query = select(ACCEPTANCES).where(ACCEPTANCES.c.listing_number == listing_number)
        if buyer is not None:
            query = query.where(ACCEPTANCES.c.buyer == buyer)
        total = self._connection.execute(select(func.count()).select_from(query.subquery())).scalar_one()
        rows = self._connection.execute(query.order_by(ACCEPTANCES.c.id.desc()).limit(limit or -1).offset(offset))
        return Page(tuple(_stored(row) for row in rows.mappings()), total, offset)

    def accepted(self, listing_number: int, buyer: str) -> bool:
        """Return whether this buyer accepted every line of this listing."""
        wanted = (ACCEPTANCES.c.listing_number == listing_number, ACCEPTANCES.c.buyer == buyer, ACCEPTANCES.c.complete)
        return self._connection.execute(select(ACCEPTANCES.c.id).where(*wanted).limit(1)).scalar() is not None


def _stored(row: RowMapping) -> StoredAcceptance:
    text = row["acceptance_json"]
    return StoredAcceptance(
        number=row["id"],
        listing_number=row["listing_number"],
        acceptance=Acceptance.model_validate_json(text),
        at=row["at"],
        digest=row["digest"],
        intact=digest_of(str(row["listing_number"]), row["at"], text) == row["digest"],
    )
