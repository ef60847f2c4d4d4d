"""Photos of units: each picture once under its digest, and beside it the history of what it was attached to.

A picture goes for good when it is attached to no unit and was never published: it may show by mistake what is nobody's
business. One that was published stays, because it is part of what a buyer was shown.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from pydantic import TypeAdapter
from sqlalchemy import Connection, func, select

from data.storage.digest import digest_of
from data.storage.tables import LISTING_STEPS, PHOTO_STEPS, PICTURES, UNITS
from pricing.errors import NotFound, shortened
from pricing.records.photo import PhotoAdded, PhotoRemoved, PhotoStep, attached_photos

_STEPS: TypeAdapter[PhotoStep] = TypeAdapter(PhotoStep)


@dataclass(frozen=True)
class StoredPhotoStep:
    """A step as it is kept.

    Attributes:
        step: What was done.
        at: When, ISO 8601.
        digest: SHA-256 over the digest before it (the unit's number for the first), the time and the step.
        intact: Whether the digest is still the right one: nothing up to here was changed behind the program's back.
    """

    step: PhotoStep
    at: str
    digest: str
    intact: bool


class PhotoStore:
    """The photos of a store."""

    def __init__(self, connection: Connection, at: str) -> None:
        self._connection = connection
        self._at = at

    def add(self, unit_number: str, photo: PhotoAdded, content: bytes, small: bytes) -> StoredPhotoStep:
        """Attach a picture to a shot of a stored unit; a picture that is there already is kept once.

        Raises:
            NotFound: No unit has this number.
        """
        kept = select(func.count()).select_from(PICTURES).where(PICTURES.c.digest == photo.digest)
        added = self._add_step(unit_number, photo)
        if not self._connection.execute(kept).scalar_one():
            row = {"digest": photo.digest, "at": self._at, "content": content, "small": small}
            self._connection.execute(PICTURES.insert().values(row))
        return added

    def remove(self, unit_number: str, removed: PhotoRemoved) -> StoredPhotoStep:
        """Take a picture off all shots of a unit; it goes for good unless somebody needs it.

        Raises:
            NotFound: The unit has no such photo, or no unit has this number.
        """
        if removed.digest not in {photo.digest for photo in self.attached(unit_number)}:
            raise NotFound(f"no photo {shortened(removed.digest)} is attached to unit {unit_number}")
        step = self._add_step(unit_number, removed)
        if not (self._is_attached(removed.digest) or self._is_published(removed.digest)):
            self._connection.execute(PICTURES.delete().where(PICTURES.c.digest == removed.digest))
        return step

    def steps(self, unit_number: str) -> tuple[StoredPhotoStep, ...]:
        """Return all that happened to the photos of a unit, the first first.

        Raises:
            NotFound: No unit has this number.
        """
        self._check_unit(unit_number)
        last, whole = unit_number, True
        found = []
        query = select(PHOTO_STEPS).where(PHOTO_STEPS.c.unit_number == unit_number).order_by(PHOTO_STEPS.c.id)
        for row in self._connection.execute(query).mappings():
            whole = whole and digest_of(last, row["at"], row["step_json"]) == row["digest"]
            last = row["digest"]
            found.append(StoredPhotoStep(_STEPS.validate_json(row["step_json"]), row["at"], last, whole))
        return tuple(found)

    def attached(self, unit_number: str) -> tuple[PhotoAdded, ...]:
        """Return the photos that are attached to a unit now.

        Raises:
            NotFound: No unit has this number.
        """
        return attached_photos(stored.step for stored in self.steps(unit_number))

    def content(self, unit_number: str, digest: str, *, small: bool = False) -> bytes:
        """Return a picture that is or was attached to a unit, whole or small.

        Raises:
            NotFound: It never was, or it is gone.
        """
        if digest in {stored.step.digest for stored in self.steps(unit_number)}:
            query = select(PICTURES.c.small if small else PICTURES.c.content).where(PICTURES.c.digest == digest)
            content: bytes | None = self._connection.execute(query).scalar()
            if content is not None:
                return content
        raise NotFound(f"no photo {shortened(digest)} of unit {unit_number}")

    def small(self, digests: Collection[str]) -> dict[str, bytes]:
        """Return the small copies of pictures by digest."""
        query = select(PICTURES.c.digest, PICTURES.c.small).where(PICTURES.c.digest.in_(digests))
        return {row["digest"]: row["small"] for row in self._connection.execute(query).mappings()}

    def _add_step(self, unit_number: str, step: PhotoStep) -> StoredPhotoStep:
        before = self.steps(unit_number)
        text = _STEPS.dump_json(step).decode()
        digest = digest_of(before[-1].digest if before else unit_number, self._at, text)
        row = {"unit_number": unit_number, "picture": step.digest, "at": self._at, "digest": digest, "step_json": text}
        self._connection.execute(PHOTO_STEPS.insert().values(row))
        return StoredPhotoStep(step, self._at, digest, intact=True)

    def _is_attached(self, digest: str) -> bool:
        units = select(PHOTO_STEPS.c.unit_number).where(PHOTO_STEPS.c.picture == digest).distinct()
        numbers = self._connection.execute(units).scalars().all()
        return any(photo.digest == digest for number in numbers for photo in self.attached(number))

    def _is_published(self, digest: str) -> bool:
        named = LISTING_STEPS.c.step_json.contains(digest)
        return self._connection.execute(select(LISTING_STEPS.c.id).where(named).limit(1)).scalar() is not None

    def _check_unit(self, number: str) -> None:
        """Let pass the number of a stored unit.

        Raises:
            NotFound: No unit has it.
        """
        query = select(func.count()).select_from(UNITS).where(UNITS.c.number == number)
        if not self._connection.execute(query).scalar_one():
            raise NotFound(f"no unit {shortened(number)} in the store")
