"""Units over HTTP: a change names the version that it changes."""

from __future__ import annotations

import re
from typing import Annotated

from fastapi import APIRouter, Header, Query, Response, status

from api.routes.access import ShopAccess
from api.routes.shapes import Limit, Offset, PageShape, UnitShape
from api.shop.units import add_unit, change_unit, get_unit, list_units, unit_history
from pricing.errors import BadInput, Problem, shortened
from pricing.records.unit import Unit

router = APIRouter(prefix="/units", tags=["units"])

_VERSION_TAG = re.compile(r'"(\d{1,9})"')


@router.get("")
def list_stored(
    shop: ShopAccess,
    device_class: Annotated[str | None, Query(description="Only this class.")] = None,
    limit: Limit = 50,
    offset: Offset = 0,
) -> PageShape[UnitShape]:
    """List the stored units in order of their numbers."""
    page = list_units(shop, device_class=device_class, limit=limit, offset=offset)
    return PageShape[UnitShape].model_validate(page)


@router.post("", status_code=status.HTTP_201_CREATED)
def add(shop: ShopAccess, unit: Unit, response: Response) -> UnitShape:
    """Store a new unit; without a number it gets the next free one."""
    return _tagged(UnitShape.model_validate(add_unit(shop, unit)), response)


@router.get("/{number}")
def get(shop: ShopAccess, number: str, response: Response) -> UnitShape:
    """Return a unit as it is now; its version is also the entity tag."""
    return _tagged(UnitShape.model_validate(get_unit(shop, number)), response)


@router.put("/{number}")
def change(
    shop: ShopAccess,
    number: str,
    unit: Unit,
    response: Response,
    if_match: Annotated[str, Header(description='The version that is changed, as an entity tag: "3".')],
) -> UnitShape:
    """Replace a unit; refused when it is no longer at the version named in If-Match."""
    numbered = unit.model_copy(update={"number": number})
    return _tagged(UnitShape.model_validate(change_unit(shop, numbered, version_in(if_match))), response)


@router.get("/{number}/history")
def history(shop: ShopAccess, number: str) -> tuple[UnitShape, ...]:
    """Return every version of a unit, the first first."""
    return tuple(UnitShape.model_validate(past) for past in unit_history(shop, number))


def version_in(tag: str) -> int:
    """Return the version that an entity tag names.

    Raises:
        BadInput: It names none.
    """
    matched = _VERSION_TAG.fullmatch(tag.strip())
    if matched is None:
        problem = Problem("request", None, "If-Match", shortened(tag), 'a version in quotes, such as "3"')
        raise BadInput(str(problem), (problem,))
    return int(matched.group(1))


def _tagged(shape: UnitShape, response: Response) -> UnitShape:
    response.headers["ETag"] = f'"{shape.version}"'
    return shape
