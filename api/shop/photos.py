"""Photos of units: the shot list, attaching and removing, what a listing shows of them, and which are missing."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from api.shop.files import read_bytes, write_bytes
from api.shop.shop import Shop
from api.shop.units import get_unit
from data.importing.picture import MOST_BYTES, read_picture
from listing_templates.illustrations import Illustration
from listing_templates.shots import always, photo_missing, shots_of
from pricing.errors import BadInput, NotFound, Problem, shortened
from pricing.records.device_class import DeviceClass
from pricing.records.finding import Finding
from pricing.records.photo import PhotoAdded, PhotoRemoved, Shot, attached_photos, proves
from pricing.records.stops import with_checks_of_today
from pricing.records.unit import Unit
from pricing.records.unit_columns import check_unit

LARGEST_FILE = MOST_BYTES
_SHORTEST_DIGEST = 8


@dataclass(frozen=True)
class PhotoOfUnit:
    """A photo that is attached.

    Attributes:
        photo: The photo with its shot.
        outdated: It shows what is no longer the case, or its shot is no longer asked for: no listing shows it.
    """

    photo: PhotoAdded
    outdated: bool


@dataclass(frozen=True)
class ShotList:
    """What is to be photographed of a unit, and what is there.

    Attributes:
        unit_number: The unit's number; None: it is not in the store.
        always: What is to be kept in mind with every shot.
        shots: Every shot, in the order in which they are best taken.
        photos: Every photo that is attached, in the order in which they were.
        intact: The history of the photos was not changed behind the program's back.
    """

    unit_number: str | None
    always: str
    shots: tuple[Shot, ...]
    photos: tuple[PhotoOfUnit, ...]
    intact: bool = True

    @property
    def current(self) -> tuple[PhotoAdded, ...]:
        """The photos that a listing shows, in the order of the shots."""
        kept = [each.photo for each in self.photos if not each.outdated]
        return tuple(photo for shot in self.shots for photo in kept if photo.shot == shot.id)

    @property
    def missing(self) -> tuple[Shot, ...]:
        """The shots that are needed and not there."""
        taken = {photo.shot for photo in self.current}
        return tuple(shot for shot in self.shots if shot.needed and shot.id not in taken)


@dataclass(frozen=True)
class PhotoKept:
    """A photo that was just attached, and whether another of the same shot is there already."""

    photo: PhotoAdded
    notices: tuple[str, ...]


def shots_for(unit: Unit, device_class: DeviceClass) -> ShotList:
    """Return the shot list of a unit that need not be in the store.

    Raises:
        BadInput: The unit does not fit its class.
    """
    check_unit(unit, device_class)
    return ShotList(None, always(), shots_of(unit, device_class), ())


def shot_list(shop: Shop, number: str) -> ShotList:
    """Return the shot list of a stored unit as it is now, with its photos.

    Raises:
        NotFound: No unit has this number, or its class is gone.
    """
    unit = get_unit(shop, number).unit
    device_class = shop.class_called(unit.device_class)
    return photos_of(shop, number, with_checks_of_today(unit, device_class, shop.today), device_class)


def photos_of(shop: Shop, number: str, unit: Unit, device_class: DeviceClass) -> ShotList:
    """Return the shot list of a stored unit, taken to be as ``unit`` says, with its photos.

    Raises:
        NotFound: No unit has this number.
    """
    with shop.store.reading() as work:
        steps = work.photos.steps(number)
    shots = shots_of(unit, device_class)
    photos = tuple(
        PhotoOfUnit(photo, outdated=not any(proves(photo, shot) for shot in shots))
        for photo in attached_photos(stored.step for stored in steps)
    )
    return ShotList(number, always(), shots, photos, all(stored.intact for stored in steps))


def add_photo(shop: Shop, number: str, content: bytes, shot_id: str, *, source: str = "picture") -> PhotoKept:
    """Attach a picture to a shot of a stored unit; ``source`` names the file in messages.

    Raises:
        NotFound: No unit has this number, or its class is gone.
        BadInput: It is no picture that can be kept, or the unit has no such shot.
    """
    told = shot_list(shop, number)
    shot = _shot_called(told.shots, shot_id)
    picture = read_picture(content, source)
    photo = PhotoAdded(
        digest=picture.digest,
        shot=shot.id,
        facts=shot.facts,
        state_digest=shot.state_digest,
        width=picture.width,
        height=picture.height,
        on=shop.today,
    )
    with shop.store.writing(shop.now()) as work:
        work.photos.add(number, photo, picture.content, picture.small)
    return PhotoKept(photo, tuple(_notices(told, photo)))


def add_photo_file(shop: Shop, number: str, path: Path, shot_id: str) -> PhotoKept:
    """Attach the picture in a file to a shot of a stored unit.

    Raises:
        NotFound: There is no such file or unit.
        BadInput: It is no picture that can be kept, or the unit has no such shot.
    """
    return add_photo(shop, number, read_bytes(path, LARGEST_FILE), shot_id, source=str(path))


def remove_photo(shop: Shop, number: str, digest: str) -> str:
    """Take a picture off all shots of a unit; ``digest`` or its first 8 characters or more. Return the digest.

    It goes for good, unless another unit has it too or it was published.

    Raises:
        NotFound: The unit has no such photo, or no unit has this number.
    """
    given = digest.strip().casefold()
    with shop.store.writing(shop.now()) as work:
        known = {photo.digest for photo in work.photos.attached(number)}
        found = [each for each in known if len(given) >= _SHORTEST_DIGEST and each.startswith(given)]
        if len(found) != 1:
            raise NotFound(f"no photo {shortened(digest)} is attached to unit {number}")
        work.photos.remove(number, PhotoRemoved(digest=found[0], on=shop.today))
    return found[0]


def photo_content(shop: Shop, number: str, digest: str, *, small: bool = False) -> bytes:
    """Return a picture that is or was attached to a unit as JPEG, whole or small.

    Raises:
        NotFound: It never was, or it is gone; or no unit has this number.
    """
    with shop.store.reading() as work:
        return work.photos.content(number, digest, small=small)


def write_photos(shop: Shop, number: str, folder: Path) -> tuple[Path, ...]:
    """Write the photos that a listing shows into a folder, each under its digest, as they are uploaded.

    Raises:
        NotFound: No unit has this number.
        BadInput: The folder cannot be written.
    """
    digests = dict.fromkeys(photo.digest for photo in shot_list(shop, number).current)
    paths = tuple(folder / file_name(digest) for digest in digests)
    for digest, path in zip(digests, paths, strict=True):
        write_bytes(path, photo_content(shop, number, digest))
    return paths


def file_name(digest: str) -> str:
    """Return the name of a picture's file: nothing of the unit, of who took it, or of the file it came from."""
    return f"{digest}.jpg"


def addresses(shop: Shop, digests: Iterable[str]) -> tuple[str, ...]:
    """Return where pictures lie on the net; empty when the shop has not stated it."""
    folder = shop.settings.photo_address
    return tuple(folder + file_name(digest) for digest in digests) if folder else ()


def illustrations_of(shop: Shop, number: str) -> tuple[Illustration, ...]:
    """Return what a listing of a stored unit shows of its photos.

    Raises:
        NotFound: No unit has this number, or its class is gone.
    """
    photos = shot_list(shop, number).current
    if not photos:
        return ()
    with shop.store.reading() as work:
        small = work.photos.small({photo.digest for photo in photos})
    return tuple(
        Illustration(
            digest=photo.digest,
            facts=photo.facts,
            source="data:image/jpeg;base64," + b64encode(small[photo.digest]).decode(),
            address=next(iter(addresses(shop, [photo.digest])), ""),
        )
        for photo in photos
        if photo.digest in small
    )


def missing_photos(shop: Shop, told: ShotList) -> tuple[Finding, ...]:
    """Return a soft finding for each photo that is missing, where the shop asks for photos or the unit has one."""
    wanted = shop.settings.photos or bool(told.photos)
    return tuple(photo_missing(shot) for shot in told.missing) if wanted else ()


def _shot_called(shots: Sequence[Shot], shot_id: str) -> Shot:
    """Return the shot with this name.

    Raises:
        BadInput: There is none; the message names those there are.
    """
    found = next((shot for shot in shots if shot.id == shot_id.strip()), None)
    if found is None:
        expected = "one of its shots: " + ", ".join(shot.id for shot in shots)
        problem = Problem("request", None, "shot", shortened(shot_id), expected)
        raise BadInput(str(problem), (problem,))
    return found


def _notices(told: ShotList, photo: PhotoAdded) -> Iterable[str]:
    others = {each.photo.digest for each in told.photos if each.photo.shot == photo.shot}
    if photo.digest in others:
        yield "the same picture was attached to this shot already"
    elif any(each.photo.digest == photo.digest for each in told.photos):
        yield "the same picture is attached to another shot of this unit: it stands for both"

