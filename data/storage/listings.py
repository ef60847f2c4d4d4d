"""Listings as they were written."""

from __future__ import annotations

from data.storage.statements import StatementStore
from data.storage.tables import LISTINGS
from pricing.records.listing import Listing


class ListingStore(StatementStore[Listing]):
    """The listings of a store."""

    kind = "listing"
    table = LISTINGS
    record = Listing
