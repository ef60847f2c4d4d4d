"""Listings over HTTP: writing them, and reading texts against units."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, status

from api.routes.access import ShopAccess
from api.routes.shapes import FindingsShape, Limit, ListingShape, NewListing, Offset, PageShape, TextToCheck
from api.shop.channels import channel_called
from api.shop.listings import check_text, get_listing, keep_listing, list_listings, write_listing
from api.shop.models import stored_model
from api.shop.statements import ListingStatement
from api.shop.terms import terms_of_shop
from api.shop.units import given_or_stored

router = APIRouter(prefix="/listings", tags=["listings"])


@router.post("", status_code=status.HTTP_201_CREATED)
def write(shop: ShopAccess, wish: NewListing) -> ListingShape:
    """Write a listing that discloses every defect, and keep it with the unit's facts."""
    unit = given_or_stored(shop, wish.unit, wish.unit_number)
    model = stored_model(shop, unit.device_class, wish.model) if wish.price_from_model else None
    day = wish.on or shop.today
    device_class = shop.class_called(unit.device_class)
    terms = terms_of_shop(shop.settings)
    channel = None if wish.channel is None else channel_called(shop, wish.channel)
    listing = write_listing(
        unit, device_class, form=wish.format, on=day, model=model, terms=terms, channel=channel
    )
    return _shape(keep_listing(shop, unit, listing))


@router.post("/check")
def check(shop: ShopAccess, sent: TextToCheck) -> FindingsShape:
    """Say what a text leaves out of, or says against, a unit's facts."""
    unit = given_or_stored(shop, sent.unit, sent.unit_number)
    return FindingsShape(findings=check_text(sent.text, unit, shop.class_called(unit.device_class)))


@router.get("")
def list_written(
    shop: ShopAccess,
    unit_number: Annotated[str | None, Query(description="Only of this unit.")] = None,
    limit: Limit = 50,
    offset: Offset = 0,
) -> PageShape[ListingShape]:
    """List the listings that were written, the latest first."""
    page = list_listings(shop, unit_number=unit_number, limit=limit, offset=offset)
    shapes = tuple(_shape(statement) for statement in page.items)
    return PageShape[ListingShape](items=shapes, total=page.total, offset=page.offset)


@router.get("/{number}")
def get(shop: ShopAccess, number: int) -> ListingShape:
    """Return a listing as it was written."""
    return _shape(get_listing(shop, number))


def _shape(statement: ListingStatement) -> ListingShape:
    return ListingShape(
        number=statement.number,
        unit_number=statement.unit.number,
        at=statement.at,
        digest=statement.digest,
        listing=statement.said,
    )
