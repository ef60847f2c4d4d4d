"""One transaction over all nouns of a store."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection

from data.storage.acceptances import AcceptanceStore
from data.storage.comparables import ComparableStore
from data.storage.estimates import EstimateStore
from data.storage.ledger import LedgerStore
from data.storage.listing_steps import ListingStepStore
from data.storage.listings import ListingStore
from data.storage.models import ModelStore
from data.storage.photos import PhotoStore
from data.storage.plans import PlanStore
from data.storage.units import UnitStore


class UnitOfWork:
    """What one use case sees and changes; made by ``Store.reading`` and ``Store.writing``.

    Attributes:
        comparables, models, units, estimates, plans, listings, listing_steps, acceptances, ledger, photos: One for
            each noun.
    """

    def __init__(self, connection: Connection, at: datetime | None) -> None:
        moment = "" if at is None else at.isoformat(timespec="seconds")
        self.comparables = ComparableStore(connection, moment)
        self.models = ModelStore(connection, moment)
        self.units = UnitStore(connection, moment)
        self.estimates = EstimateStore(connection, moment)
        self.plans = PlanStore(connection, moment)
        self.listings = ListingStore(connection, moment)
        self.listing_steps = ListingStepStore(connection, moment)
        self.acceptances = AcceptanceStore(connection, moment)
        self.ledger = LedgerStore(connection, moment)
        self.photos = PhotoStore(connection, moment)
