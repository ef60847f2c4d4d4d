"""Asks over HTTP: what to ask for a unit."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated

from fastapi import APIRouter, Response
from pydantic import Field

from api.routes.access import ShopAccess
from api.routes.shapes import AboutUnit
from api.shop.asking import AskWish, ask_advice
from api.shop.curve_charts import ask_chart
from api.shop.estimates import unit_and_model
from api.shop.proceeds import SaleWish
from api.shop.shop import Shop
from pricing.records.asking import AskAdvice
from pricing.records.exact import ExactDecimal

router = APIRouter(prefix="/asks", tags=["asks"])


class UnitToAskFor(AboutUnit):
    """A unit that is to be offered.

    Attributes:
        channel, zone: Where it is sold, and sent; without a channel no fees are counted.
        holding: Cost of a day of holding it, beside the fall in price.
        patience: Days after which it is given up.
        fallback: What it leaves then; by default the net of 60 percent of the estimate.
        every: Days between steps of the ask.
        always: Answer even where the model would decline.
    """

    channel: Annotated[str | None, Field(pattern=r"^[\w-]+$", max_length=80)] = None
    zone: str | None = None
    holding: Annotated[ExactDecimal, Field(ge=0)] = Decimal(0)
    patience: int = 60
    fallback: ExactDecimal | None = None
    every: int = 14
    always: bool = False


@router.post("")
def advise(shop: ShopAccess, wish: UnitToAskFor) -> AskAdvice:
    """Say what to ask for a unit, how soon it then sells, and how the ask comes down; nothing is kept."""
    return _advice(shop, wish)


@router.post("/picture", response_class=Response, responses={200: {"content": {"image/svg+xml": {}}}})
def picture(shop: ShopAccess, wish: UnitToAskFor) -> Response:
    """Draw expected net and chance of sale over the ask as SVG."""
    return Response(ask_chart(_advice(shop, wish)), media_type="image/svg+xml")


def _advice(shop: Shop, wish: UnitToAskFor) -> AskAdvice:
    unit, model = unit_and_model(shop, wish.unit, wish.unit_number, wish.model)
    sale = None if wish.channel is None else SaleWish(wish.channel, zone=wish.zone, on=wish.on)
    asked = AskWish(
        sale, wish.holding, wish.patience, wish.fallback, wish.every, on=wish.on, always=wish.always
    )
    return ask_advice(shop, model, unit, asked)
