"""What buyers accept of published listings over HTTP: as JSON, or as a form that works without script."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query, status
from fastapi.responses import HTMLResponse

from api.routes.access import ShopAccess
from api.routes.listing_shapes import AcceptanceShape, DeviationsShape, FormAcceptance, NewAcceptance
from api.routes.pages import page
from api.routes.shapes import Limit, Offset, PageShape
from api.shop.acceptances import (
    KeptAcceptance,
    accept,
    answered_form,
    deviation_form,
    deviation_lines,
    list_acceptances,
)
from pricing.records.acceptance import BuyerReference

router = APIRouter(prefix="/listings/{number}", tags=["acceptances"])

Buyer = Annotated[BuyerReference | None, Query(description="Number of the order or the like; no name.")]


@router.get("/deviations")
def deviations(shop: ShopAccess, number: int) -> DeviationsShape:
    """Return the lines that a buyer accepts one by one, and what to do where the channel cannot take answers."""
    return DeviationsShape.model_validate(deviation_lines(shop, number))


@router.get("/deviations/form", response_class=HTMLResponse)
def form(
    shop: ShopAccess,
    number: int,
    buyer: Buyer = None,
    whole: Annotated[bool, Query(description="A page of its own; else the form alone, to stand in another.")] = True,
) -> HTMLResponse:
    """Give the lines as a form with one box each, none ticked."""
    return page(deviation_form(shop, number, buyer=buyer, whole=whole))


@router.post("/deviations/form", response_class=HTMLResponse, status_code=status.HTTP_201_CREATED)
def answer_form(shop: ShopAccess, number: int, sent: Annotated[FormAcceptance, Form()]) -> HTMLResponse:
    """Keep what the form sends, and show what is accepted or still open."""
    kept = accept(
        shop, number, buyer=sent.buyer, text_digest=sent.text_digest, lines=sent.line, way="checkout"
    )
    return page(answered_form(shop, kept), status.HTTP_201_CREATED)


@router.post("/acceptances", status_code=status.HTTP_201_CREATED)
def add(shop: ShopAccess, number: int, sent: NewAcceptance) -> AcceptanceShape:
    """Keep a buyer's answer; only an answer that accepts every line counts."""
    return _shape(
        accept(shop, number, buyer=sent.buyer, text_digest=sent.text_digest, lines=sent.lines, way=sent.way)
    )


@router.get("/acceptances")
def list_kept(
    shop: ShopAccess, number: int, buyer: Buyer = None, limit: Limit = 50, offset: Offset = 0
) -> PageShape[AcceptanceShape]:
    """List the answers to a listing, the latest first."""
    found = list_acceptances(shop, number, buyer=buyer, limit=limit, offset=offset)
    shapes = tuple(_shape(kept) for kept in found.items)
    return PageShape[AcceptanceShape](items=shapes, total=found.total, offset=found.offset)


def _shape(kept: KeptAcceptance) -> AcceptanceShape:
    return AcceptanceShape(
        number=kept.number,
        listing_number=kept.listing_number,
        at=kept.at,
        digest=kept.digest,
        intact=kept.intact,
        complete=kept.acceptance.complete,
        acceptance=kept.acceptance,
    )
