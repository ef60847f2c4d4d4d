"""Photos of units over HTTP: the shot list, and the pictures that are kept."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, File, Form, Query, Response, UploadFile, status

from api.routes.access import ShopAccess
from api.routes.photo_shapes import PhotoKeptShape, ShotListShape, photo_shape, shot_list_shape
from api.shop.photos import (
    LARGEST_FILE,
    PhotoOfUnit,
    add_photo,
    file_name,
    photo_content,
    remove_photo,
    shot_list,
)

router = APIRouter(prefix="/units/{number}", tags=["photos"])

_JPEG = "image/jpeg"
_AS_JPEG = {"description": "The picture.", "content": {_JPEG: {"schema": {"type": "string", "format": "binary"}}}}


@router.get("/shots")
def shots(shop: ShopAccess, number: str) -> ShotListShape:
    """Say which photos a stored unit needs, from where, and which are there."""
    return shot_list_shape(shot_list(shop, number))


@router.post("/photos", status_code=status.HTTP_201_CREATED)
def add(
    shop: ShopAccess,
    number: str,
    shot: Annotated[str, Form(max_length=2_000, description="Which shot it is, by its id.")],
    picture: Annotated[UploadFile, File(description="JPEG, PNG or WebP, at most 40 MB and 100 megapixels.")],
) -> PhotoKeptShape:
    """Keep a picture for a shot: upright, bounded, without place, serials or anything else beside its pixels."""
    # One byte more than is taken shows that there are too many; the name that the file had is nobody's business.
    content = picture.file.read(LARGEST_FILE + 1)
    kept = add_photo(shop, number, content, shot, source="request")
    return PhotoKeptShape(photo=photo_shape(PhotoOfUnit(kept.photo, outdated=False)), notices=kept.notices)


@router.get("/photos/{digest}", response_class=Response, responses={200: _AS_JPEG})
def get(
    shop: ShopAccess,
    number: str,
    digest: str,
    small: Annotated[bool, Query(description="At most 480 pixels long.")] = False,
) -> Response:
    """Give a picture that is or was attached to a unit."""
    headers = {
        "Content-Disposition": f'inline; filename="{file_name(digest)}"',
        "X-Content-Type-Options": "nosniff",
        "Cache-Control": "private, no-cache",
    }
    return Response(photo_content(shop, number, digest, small=small), media_type=_JPEG, headers=headers)


@router.delete("/photos/{digest}")
def remove(shop: ShopAccess, number: str, digest: str) -> ShotListShape:
    """Take a picture off all shots of a unit; it goes for good unless it is needed elsewhere or was published."""
    remove_photo(shop, number, digest)
    return shot_list_shape(shot_list(shop, number))
