"""What the service gives of photos, where a record alone does not say it."""

from __future__ import annotations

from datetime import date

from api.routes.shapes import Shape
from api.shop.photos import PhotoOfUnit, ShotList
from pricing.records.photo import Shot


class ShotShape(Shape):
    """One photo that is to be taken.

    Attributes:
        id: Names it when a picture is sent.
        shows, view: What is to be seen, and from where.
        scale: A ruler is to lie beside it.
        facts: Keys of the facts that it proves.
        needed, missing: A listing with photos needs it; it is needed and not there.
        photos: SHA-256 of each picture that shows it as it is now.
    """

    id: str
    shows: str
    view: str
    scale: bool
    facts: tuple[str, ...]
    needed: bool
    missing: bool
    photos: tuple[str, ...]


class PhotoShape(Shape):
    """A photo that is attached to a shot.

    Attributes:
        digest: SHA-256 of the picture, which is also its address.
        shot, facts: What it was taken for, and the facts that it proves.
        width, height: In pixels.
        on: The day on which it was attached.
        outdated: It shows what is no longer the case: no listing shows it.
    """

    digest: str
    shot: str
    facts: tuple[str, ...]
    width: int
    height: int
    on: date
    outdated: bool


class ShotListShape(Shape):
    """What is to be photographed of a unit, and what is there.

    Attributes:
        unit_number: The unit's number.
        always: What is to be kept in mind with every shot.
        shots: Every shot.
        photos: Every photo that is attached.
        intact: Nothing of their history was changed behind the program's back.
    """

    unit_number: str | None
    always: str
    shots: tuple[ShotShape, ...]
    photos: tuple[PhotoShape, ...]
    intact: bool


class PhotoKeptShape(Shape):
    """A photo that was just attached, and what the seller should know."""

    photo: PhotoShape
    notices: tuple[str, ...]


def shot_list_shape(told: ShotList) -> ShotListShape:
    """Return a shot list as the service gives it."""
    return ShotListShape(
        unit_number=told.unit_number,
        always=told.always,
        shots=tuple(_shot(shot, told) for shot in told.shots),
        photos=tuple(photo_shape(each) for each in told.photos),
        intact=told.intact,
    )


def photo_shape(each: PhotoOfUnit) -> PhotoShape:
    """Return a photo as the service gives it."""
    return PhotoShape(**each.photo.model_dump(exclude={"did", "state_digest"}), outdated=each.outdated)


def _shot(shot: Shot, told: ShotList) -> ShotShape:
    photos = tuple(photo.digest for photo in told.current if photo.shot == shot.id)
    plain = shot.model_dump(exclude={"state_digest"})
    return ShotShape(**plain, missing=shot.needed and not photos, photos=photos)
