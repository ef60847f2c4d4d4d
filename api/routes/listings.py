"""Listings over HTTP: writing, checking, publishing, and what becomes of them."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Response, status
from fastapi.responses import HTMLResponse

from api.routes.access import ShopAccess
from api.routes.listing_shapes import (
    CheckShape,
    Confirmation,
    EditedText,
    FindingAnswered,
    FindingsShape,
    ListingShape,
    NewListing,
    PublicationShape,
    ReadBackShape,
    ReasonShape,
    SaleOfListing,
    SoldShape,
    StepShape,
    TextReadBack,
    TextToCheck,
    Withdrawal,
    listing_shape,
    publication_shape,
    step_shapes,
)
from api.routes.pages import page
from api.routes.shapes import Limit, Offset, PageShape
from api.shop.cautions import cautions_to_publish
from api.shop.channels import channel_called
from api.shop.kept_listings import KeptListing, edit_text, get_kept, list_kept, sell, withdraw
from api.shop.listing_checks import answer_finding, check_listing, last_check, read_back
from api.shop.listings import check_text, keep_listing, reasons_of, write_listing
from api.shop.models import stored_model
from api.shop.photos import illustrations_of
from api.shop.publications import FeedForm, feed_of, publish, published_listing, sheet_of
from api.shop.terms import terms_of_shop
from api.shop.units import given_or_stored
from pricing.records.listing_step import ListingState

router = APIRouter(prefix="/listings", tags=["listings"])

_FEED_TYPES = {"csv": "text/csv; charset=utf-8", "ndjson": "application/x-ndjson"}


@router.post("", status_code=status.HTTP_201_CREATED)
def write(shop: ShopAccess, wish: NewListing) -> ListingShape:
    """Write a listing that discloses every defect, and keep it with the unit's facts as a draft."""
    unit = given_or_stored(shop, wish.unit, wish.unit_number)
    listing = write_listing(
        unit,
        shop.class_called(unit.device_class),
        form=wish.format,
        on=wish.on or shop.today,
        model=stored_model(shop, unit.device_class, wish.model) if wish.price_from_model else None,
        language=wish.language,
        terms=terms_of_shop(shop.settings),
        channel=None if wish.channel is None else channel_called(shop, wish.channel),
        illustrations=() if wish.unit_number is None else illustrations_of(shop, wish.unit_number),
    )
    return listing_shape(get_kept(shop, keep_listing(shop, unit, listing).number))


@router.post("/check")
def check(shop: ShopAccess, sent: TextToCheck) -> FindingsShape:
    """Say what a text, or an answer to a buyer, leaves out of, or says against, a unit's facts."""
    unit = given_or_stored(shop, sent.unit, sent.unit_number)
    device_class = shop.class_called(unit.device_class)
    return FindingsShape(
        findings=check_text(
            sent.text, unit, device_class, on=shop.today, language=sent.language, answer=sent.answer
        )
    )


@router.get("")
def list_written(
    shop: ShopAccess,
    unit_number: Annotated[str | None, Query(description="Only of this unit.")] = None,
    state: Annotated[ListingState | None, Query(description="Only in this state.")] = None,
    limit: Limit = 50,
    offset: Offset = 0,
) -> PageShape[ListingShape]:
    """List the listings that are kept, the latest first."""
    found = list_kept(shop, state=state, unit_number=unit_number, limit=limit, offset=offset)
    shapes = tuple(listing_shape(kept) for kept in found.items)
    return PageShape[ListingShape](items=shapes, total=found.total, offset=found.offset)


@router.get("/feed", response_class=Response)
def feed(
    shop: ShopAccess, form: Annotated[FeedForm, Query(description="csv for sheets, ndjson for programs.")] = "csv"
) -> Response:
    """Give all published listings that are still true as one file."""
    return Response(feed_of(shop, form), media_type=_FEED_TYPES[form])


@router.get("/{number}")
def get(shop: ShopAccess, number: int) -> ListingShape:
    """Return a listing as it stands now, with the facts that changed since."""
    return listing_shape(get_kept(shop, number))


@router.get("/{number}/history")
def history(shop: ShopAccess, number: int) -> tuple[StepShape, ...]:
    """Return what happened to a listing, the first first; nothing of it is ever changed."""
    return step_shapes(get_kept(shop, number))


@router.put("/{number}/text")
def edit(shop: ShopAccess, number: int, edited: EditedText) -> ListingShape:
    """Put the seller's text in place of ours; it must be checked again."""
    return listing_shape(edit_text(shop, number, edited.text))


@router.post("/{number}/checks", status_code=status.HTTP_201_CREATED)
def check_kept(shop: ShopAccess, number: int) -> CheckShape:
    """Read the text that counts against the unit as it is now; what was found is kept."""
    return _check_shape(check_listing(shop, number))


@router.post("/{number}/answers", status_code=status.HTTP_201_CREATED)
def answer(shop: ShopAccess, number: int, given: FindingAnswered) -> CheckShape:
    """Answer a soft finding of the last check with a reason that is kept, and check again."""
    return _check_shape(answer_finding(shop, number, given.finding, reason=given.reason, by=given.by))


@router.post("/{number}/publication", status_code=status.HTTP_201_CREATED)
def publish_checked(shop: ShopAccess, number: int, confirmed: Confirmation) -> PublicationShape:
    """Publish a checked text that a person confirms by its digest; it is checked once more before."""
    done = publish(shop, number, confirmed_by=confirmed.confirmed_by, text_digest=confirmed.text_digest)
    return publication_shape(done)


@router.get("/{number}/publication")
def get_publication(shop: ShopAccess, number: int) -> PublicationShape:
    """Return what was published, and whether it is still true."""
    return publication_shape(published_listing(shop, number))


@router.post("/{number}/readings", status_code=status.HTTP_201_CREATED)
def read_published(shop: ShopAccess, number: int, sent: TextReadBack) -> ReadBackShape:
    """Compare a text that was read where the listing stands with what was published."""
    told = read_back(shop, number, sent.text)
    return ReadBackShape(number=number, same=told.same, findings=told.findings, lost=told.lost, added=told.added)


@router.post("/{number}/sale", status_code=status.HTTP_201_CREATED)
def mark_sold(shop: ShopAccess, number: int, sale: SaleOfListing) -> SoldShape:
    """Say that the unit was sold from this listing."""
    told = sell(shop, number, by=sale.by, buyer=sale.buyer)
    return SoldShape(listing=listing_shape(told.kept), notices=told.notices)


@router.post("/{number}/withdrawal", status_code=status.HTTP_201_CREATED)
def take_down(shop: ShopAccess, number: int, given: Withdrawal) -> ListingShape:
    """Give up a draft, or take down what is published."""
    return listing_shape(withdraw(shop, number, reason=given.reason, by=given.by))


@router.get("/{number}/reasons/{sentence}")
def reasons(shop: ShopAccess, number: int, sentence: str) -> tuple[ReasonShape, ...]:
    """Say why the listing says a sentence: the facts that it rests on."""
    kept = get_kept(shop, number)
    said, unit = kept.written.said, kept.written.unit
    found = reasons_of(said, unit, kept.device_class, terms_of_shop(shop.settings), sentence)
    return tuple(ReasonShape.model_validate(reason) for reason in found)


@router.get("/{number}/sheet", response_class=HTMLResponse)
def sheet(
    shop: ShopAccess,
    number: int,
    country: Annotated[str | None, Query(description="Whose rules are named; else the shop's.")] = None,
) -> HTMLResponse:
    """Give the sheet for a sale in person, to be printed on A4."""
    return page(sheet_of(shop, number, country))


def _check_shape(kept: KeptListing) -> CheckShape:
    found = last_check(kept)
    assert found is not None  # noqa: S101 - it was just made
    return CheckShape(
        number=kept.number,
        state=kept.state,
        passed=found.passed,
        text_digest=found.text_digest,
        unit_version=found.unit_version,
        findings=found.findings,
        stops=found.stops,
        cautions=cautions_to_publish(kept.unit, kept.device_class),
    )
