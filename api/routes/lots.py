"""Lots over HTTP: the most to bid for one that is described."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Response
from pydantic import Field

from api.routes.access import ShopAccess
from api.routes.shapes import Shape
from api.shop.curve_charts import bid_chart
from api.shop.lots import MOST_UNITS, LotWish, bid_for_units
from api.shop.models import stored_model
from api.shop.proceeds import SaleWish
from api.shop.shop import Shop
from pricing.records.lot import LotBid, LotTerms
from pricing.records.lot_rates import LotHistory, LotRates
from pricing.records.unit import Unit

router = APIRouter(prefix="/lots", tags=["lots"])


class LotToBidFor(Shape):
    """A lot that is not yet bought.

    Attributes:
        device_class: Of all its units.
        units: As its description has them; what it does not say of a function is drawn from rates.
        terms: What comes on top of the hammer price.
        accepted: Chance of losing money that is accepted.
        rivals: How many others bid.
        history: What was found in lots before.
        rates: What may be wrong with units; by default as the class states.
        channel, zone: Where units are sold, and sent; without a channel no fees are counted.
        model: Fingerprint of the model; by default the latest of the class.
        on: Day to price for.
        seed: Fixes the draws.
        always: Answer even where the model would decline.
    """

    device_class: str
    units: tuple[Unit, ...] = Field(min_length=1, max_length=MOST_UNITS)
    terms: LotTerms
    accepted: Annotated[float, Field(gt=0, lt=1)] = 0.1
    rivals: Annotated[int, Field(ge=0, le=50)] = 0
    history: LotHistory = LotHistory()
    rates: LotRates | None = None
    channel: Annotated[str | None, Field(pattern=r"^[\w-]+$", max_length=80)] = None
    zone: str | None = None
    model: str | None = None
    on: date | None = None
    seed: Annotated[int, Field(ge=0, le=2**31 - 1)] = 0
    always: bool = False


@router.post("/bid")
def bid(shop: ShopAccess, wish: LotToBidFor) -> LotBid:
    """Say the most to bid for a lot, as a hammer price: then as many lots lose money as is accepted."""
    return _found(shop, wish)


@router.post("/bid/picture", response_class=Response, responses={200: {"content": {"image/svg+xml": {}}}})
def picture(shop: ShopAccess, wish: LotToBidFor) -> Response:
    """Draw chance of loss and expected profit over the hammer price as SVG."""
    return Response(bid_chart(_found(shop, wish)), media_type="image/svg+xml")


def _found(shop: Shop, wish: LotToBidFor) -> LotBid:
    model = stored_model(shop, wish.device_class, wish.model)
    asked = LotWish(
        terms=wish.terms,
        accepted=wish.accepted,
        rivals=wish.rivals,
        sale=None if wish.channel is None else SaleWish(wish.channel, zone=wish.zone, on=wish.on),
        rates=wish.rates,
        history=wish.history,
        on=wish.on,
        seed=wish.seed,
        always=wish.always,
    )
    return bid_for_units(shop, model, wish.units, asked)
