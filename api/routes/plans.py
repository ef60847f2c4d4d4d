"""Plans over HTTP: what to do with a unit, and the same as a picture. Nothing is kept."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Response
from pydantic import Field

from api.routes.access import ShopAccess
from api.routes.shapes import AboutUnit
from api.shop.estimates import unit_and_model
from api.shop.plan_picture import plan_picture
from api.shop.plans import PlanWish, plan_unit
from api.shop.proceeds import SaleWish
from api.shop.shop import Shop
from pricing.records.part_offer import PartOffer
from pricing.records.plan import Plan
from pricing.records.plan_terms import PlanTerms

router = APIRouter(prefix="/plans", tags=["plans"])

# A name, never the path of a file.
ChannelName = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9_-]{0,79}$")]


class NewPlan(AboutUnit):
    """The wish to have a plan.

    Attributes:
        offers: The parts list; amounts in the model's currency.
        terms: Of the bench.
        channel: Name of the channel; without it the net is the price.
        zone: Where it is sent.
        country: Whose tax is charged.
        seed: Fixes the draws.
        always: Plan even where the model would decline.
    """

    offers: tuple[PartOffer, ...] = Field(default=(), max_length=2_000)
    terms: PlanTerms = PlanTerms()
    channel: ChannelName | None = None
    zone: str | None = None
    country: Annotated[str | None, Field(pattern=r"^[A-Za-z]{2}$")] = None
    seed: int = Field(default=0, ge=0, le=2**32 - 1)
    always: bool = False


@router.post("")
def plan(shop: ShopAccess, wish: NewPlan) -> Plan:
    """Say which repairs pay, in which order, and when to stop."""
    return _planned(shop, wish)


@router.post("/picture", response_class=Response, responses={200: {"content": {"image/svg+xml": {}}}})
def picture(shop: ShopAccess, wish: NewPlan) -> Response:
    """Draw the plan's tree as SVG."""
    return Response(plan_picture(_planned(shop, wish)), media_type="image/svg+xml")


def _planned(shop: Shop, wish: NewPlan) -> Plan:
    unit, model = unit_and_model(shop, wish.unit, wish.unit_number, wish.model)
    sale = None
    if wish.channel is not None:
        sale = SaleWish(wish.channel, unit_number=wish.unit_number, zone=wish.zone, country=wish.country, on=wish.on)
    asked = PlanWish(
        offers=wish.offers, terms=wish.terms, sale=sale, on=wish.on, seed=wish.seed, always=wish.always
    )
    return plan_unit(shop, model, unit, asked)
