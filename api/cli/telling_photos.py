"""How a shot list reads on a screen, and what it is as JSON."""

from __future__ import annotations

from typing import Any

from api.cli.output import note, say, show_heading
from api.shop.photos import ShotList
from pricing.errors import counted

_SHORT = 12


def shot_list_values(told: ShotList) -> dict[str, Any]:
    """Return a shot list as plain values for JSON."""
    return {
        "unit_number": told.unit_number,
        "always": told.always,
        "shots": [
            shot.model_dump(mode="json", exclude={"state_digest"})
            | {"photos": [photo.digest for photo in told.current if photo.shot == shot.id]}
            for shot in told.shots
        ],
        "missing": [shot.id for shot in told.missing],
        "photos": [
            each.photo.model_dump(mode="json", exclude={"did", "state_digest"}) | {"outdated": each.outdated}
            for each in told.photos
        ],
        "intact": told.intact,
    }


def tell_shot_list(told: ShotList) -> None:
    """Print what is to be photographed, what is there, and what shows no longer what is the case."""
    taken: dict[str, list[str]] = {}
    for photo in told.current:
        taken.setdefault(photo.shot, []).append(photo.digest[:_SHORT])
    for shot in told.shots:
        there = taken.get(shot.id)
        state = f"there: {', '.join(there)}" if there else "missing" if shot.needed else "only if you like"
        say(f"{shot.id} ({state})", f"   {shot.shows}. {shot.view}")
    say("", told.always)
    outdated = [each.photo for each in told.photos if each.outdated]
    if outdated:
        show_heading("Outdated: taken before the record changed, shown in no listing")
        say(*(f"{photo.shot}: {photo.digest[:_SHORT]}, {photo.on}" for photo in outdated))
    if told.unit_number is not None:
        needed = sum(shot.needed for shot in told.shots)
        say("", f"{len(told.missing)} of {counted(needed, 'photo')} missing.")
    if not told.intact:
        note("the history of these photos was changed in the file by another program: it proves nothing any more")
