"""Listings as they were written."""

from __future__ import annotations

from sqlalchemy import select

from data.storage.digest import digest_of
from data.storage.statements import StatementStore
from data.storage.tables import LISTINGS
from pricing.records.listing import Listing


class ListingStore(StatementStore[Listing]):
    """The listings of a store."""

    kind = "listing"
    table = LISTINGS
    record = Listing

    def is_intact(self, number: int) -> bool:
        """Return whether a listing is, letter by letter, what was written under its digest."""
        kept = LISTINGS.c
        row = self._connection.execute(
            select(kept.unit_json, kept.said_json, kept.digest).where(kept.id == number)
        ).first()
        return row is not None and digest_of(row.unit_json, row.said_json) == row.digest
