"""Photos of a unit: which are to be taken, which were attached to what they prove, and which were taken off again.

A photo proves what was the case when it was attached. When that changes (a mark grew, a film came off) it proves it no
longer: ``Shot.state_digest`` says what is to be seen now, ``PhotoAdded.state_digest`` what was to be seen then.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Annotated, Literal, TypeAlias

from pydantic import Field

from pricing.records.base import Record
from pricing.records.publication import Digest

Pixels = Annotated[int, Field(ge=1)]


class Shot(Record):
    """One photo that is to be taken.

    Attributes:
        id: Names it, the same as long as the unit has what it shows: "whole", "mark:screen:crack".
        shows: What is to be seen.
        view: From where, and in which light.
        scale: A ruler is to lie beside it.
        facts: Keys of the facts that it proves.
        needed: A listing with photos lacks something without it.
        state_digest: SHA-256 of what those facts state now, without days and ways of finding it.
    """

    id: str
    shows: str
    view: str
    scale: bool
    facts: tuple[str, ...]
    needed: bool
    state_digest: Digest


class PhotoAdded(Record):
    """A photo was attached to a shot.

    Attributes:
        did: Always "added".
        digest: SHA-256 of the picture as it is kept.
        shot, facts, state_digest: Of the shot, as it was then.
        width, height: Of the picture, in pixels.
        on: The day.
    """

    did: Literal["added"] = "added"
    digest: Digest
    shot: str
    facts: tuple[str, ...]
    state_digest: Digest
    width: Pixels
    height: Pixels
    on: date


class PhotoRemoved(Record):
    """A picture was taken off all shots of the unit."""

    did: Literal["removed"] = "removed"
    digest: Digest
    on: date


PhotoStep: TypeAlias = PhotoAdded | PhotoRemoved


def attached_photos(steps: Iterable[PhotoStep]) -> tuple[PhotoAdded, ...]:
    """Return the photos that are attached after all steps, the first first; each once for each shot."""
    attached: dict[tuple[str, str], PhotoAdded] = {}
    for step in steps:
        if isinstance(step, PhotoAdded):
            attached[step.digest, step.shot] = step
        else:
            attached = {key: photo for key, photo in attached.items() if photo.digest != step.digest}
    return tuple(attached.values())


def proves(photo: PhotoAdded, shot: Shot) -> bool:
    """Return whether the photo was taken for this shot, and nothing of what it shows has changed since."""
    return photo.shot == shot.id and photo.state_digest == shot.state_digest
