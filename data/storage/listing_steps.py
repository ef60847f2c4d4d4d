"""What happened to each kept listing: steps are added, never changed; each digest holds all that came before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pydantic import TypeAdapter
from sqlalchemy import Connection, func, select

from data.storage.digest import digest_of
from data.storage.page import Page
from data.storage.tables import LISTING_STEPS, LISTINGS
from pricing.errors import NotFound, StaleVersion
from pricing.records.listing_step import ListingState, ListingStep, state_after

_STEPS: TypeAdapter[ListingStep] = TypeAdapter(ListingStep)


@dataclass(frozen=True)
class StoredStep:
    """A step as it is kept.

    Attributes:
        number: Its number in the store.
        step: What was done.
        state: The state of the listing after it.
        at: When, ISO 8601.
        digest: SHA-256 over the digest before it (the listing's own for the first), the time and the step.
        intact: Whether the digest is still the right one: nothing up to here was changed behind the program's back.
    """

    number: int
    step: ListingStep
    state: ListingState
    at: str
    digest: str
    intact: bool


class ListingStepStore:
    """The steps of all listings of a store."""

    def __init__(self, connection: Connection, at: str) -> None:
        self._connection = connection
        self._at = at

    def add(self, listing_number: int, step: ListingStep, seen: Sequence[StoredStep]) -> StoredStep:
        """Add a step after those that were ``seen``.

        Raises:
            NotFound: No listing has this number.
            StaleVersion: Somebody added another one meanwhile.
        """
        before = self.steps(listing_number)
        if [kept.number for kept in before] != [kept.number for kept in seen]:
            raise StaleVersion(f"listing {listing_number} went on meanwhile; look at it again, then repeat")
        last = before[-1].digest if before else self._listing_digest(listing_number)
        text = _STEPS.dump_json(step).decode()
        digest = digest_of(last, self._at, text)
        state = state_after(before[-1].state if before else "draft", step)
        row = {"listing_number": listing_number, "state": state, "at": self._at, "digest": digest, "step_json": text}
        made = self._connection.execute(LISTING_STEPS.insert().returning(LISTING_STEPS.c.id).values(row))
        return StoredStep(made.scalar_one(), step, state, self._at, digest, intact=True)

    def steps(self, listing_number: int) -> tuple[StoredStep, ...]:
        """Return all steps of a listing, the first first.

        Raises:
            NotFound: No listing has this number.
        """
        last, whole = self._listing_digest(listing_number), True
        found = []
        query = select(LISTING_STEPS).where(LISTING_STEPS.c.listing_number == listing_number)
        for row in self._connection.execute(query.order_by(LISTING_STEPS.c.id)).mappings():
            whole = whole and digest_of(last, row["at"], row["step_json"]) == row["digest"]
            last = row["digest"]
            step = _STEPS.validate_json(row["step_json"])
            found.append(StoredStep(row["id"], step, row["state"], row["at"], last, whole))
        return tuple(found)

    def listings_in(
        self, state: ListingState | None, *, unit_number: str | None = None, limit: int, offset: int
    ) -> Page[int]:
        """Return numbers of listings, the latest first, of one state, one unit or all; ``limit`` 0 means all."""
        newest = select(func.max(LISTING_STEPS.c.id)).group_by(LISTING_STEPS.c.listing_number)
        last = select(LISTING_STEPS).where(LISTING_STEPS.c.id.in_(newest)).subquery()
        numbers = select(LISTINGS.c.id).outerjoin(last, last.c.listing_number == LISTINGS.c.id)
        if state is not None:
            numbers = numbers.where(func.coalesce(last.c.state, "draft") == state)
        if unit_number is not None:
            numbers = numbers.where(LISTINGS.c.unit_number == unit_number)
        total = self._connection.execute(select(func.count()).select_from(numbers.subquery())).scalar_one()
        page = numbers.order_by(LISTINGS.c.id.desc()).limit(limit or -1).offset(offset)
        return Page(tuple(self._connection.execute(page).scalars()), total, offset)

    def _listing_digest(self, listing_number: int) -> str:
        """Return the digest of a listing as it was written.

        Raises:
            NotFound: None has this number.
        """
        query = select(LISTINGS.c.digest).where(LISTINGS.c.id == listing_number)
        digest: str | None = self._connection.execute(query).scalar()
        if digest is None:
            raise NotFound(f"no listing {listing_number} in the store")
        return digest
