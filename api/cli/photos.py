"""The command ``photos``: what is to be photographed of a unit, and the photos that are kept."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from api.cli.openings import open_shop
from api.cli.options import JsonOption, StoreOption
from api.cli.output import note, print_json, say
from api.cli.telling_photos import shot_list_values, tell_shot_list
from api.error_replies import WELL
from api.shop.photos import ShotList, add_photo_file, remove_photo, shot_list, shots_for, write_photos
from api.shop.shop import Shop
from api.shop.units import read_unit_file


def photos(
    unit: Annotated[Path | None, typer.Option("--unit", metavar="FILE", help="The unit as JSON: its shots.")] = None,
    number: Annotated[str | None, typer.Option("--number", metavar="UNIT", help="Number of a stored unit.")] = None,
    add: Annotated[Path | None, typer.Option("--add", metavar="FILE", help="Keep this picture for a --shot.")] = None,
    shot: Annotated[str | None, typer.Option("--shot", metavar="ID", help="What the picture of --add shows.")] = None,
    remove: Annotated[
        str | None, typer.Option("--remove", metavar="DIGEST", help="Take this picture off the unit.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FOLDER", help="Write the photos there, to be uploaded.")
    ] = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Say which photos a unit needs, what each shows and from where, and keep them.

    A picture is kept upright and at most 2,400 pixels long, without place, serial numbers or anything else that a
    camera writes into its file. A photo of what has changed since is told as outdated, and no listing shows it.

    Example: plainsale photos --unit unit.json
    """
    _check_options(unit, number, add, shot, [add, remove, out])
    shop = open_shop(store)
    if number is None:
        return _show(_shots_of_file(shop, unit), as_json)
    if add is not None and shot is not None:
        kept = add_photo_file(shop, number, add, shot)
        note(*kept.notices, f"kept for {kept.photo.shot} as {kept.photo.digest}")
    elif remove is not None:
        note(f"taken off: {remove_photo(shop, number, remove)}")
    elif out is not None:
        return _write(shop, number, out, as_json)
    return _show(shot_list(shop, number), as_json)


def _check_options(
    unit: Path | None, number: str | None, add: Path | None, shot: str | None, tasks: list[Path | str | None]
) -> None:
    """Let pass one unit, and at most one thing to do with its photos.

    Raises:
        typer.BadParameter: Something is missing or too much.
    """
    if (unit is None) == (number is None):
        raise typer.BadParameter("name the unit with --unit FILE, or a stored one with --number: one of the two")
    asked = [task for task in tasks if task is not None]
    if len(asked) > 1:
        raise typer.BadParameter("one at a time: --add, --remove or --out")
    if asked and number is None:
        raise typer.BadParameter("photos are kept of stored units: name one with --number")
    if (add is None) != (shot is None):
        raise typer.BadParameter("--add FILE and --shot ID belong together: the file, and what it shows")


def _shots_of_file(shop: Shop, path: Path | None) -> ShotList:
    assert path is not None  # noqa: S101 - one of the two is named
    described = read_unit_file(path)
    return shots_for(described, shop.class_named(described.device_class))


def _show(told: ShotList, as_json: bool) -> int:
    if as_json:
        print_json(shot_list_values(told))
    else:
        tell_shot_list(told)
    return WELL


def _write(shop: Shop, number: str, folder: Path, as_json: bool) -> int:
    paths = [str(path) for path in write_photos(shop, number, folder)]
    if as_json:
        print_json(paths)
    else:
        say(*paths or ["No photo of this unit shows what is the case now."])
    return WELL
