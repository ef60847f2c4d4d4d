"""Plans over HTTP: what to do with a unit, kept as it was said; pictures; and all stored units together."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Query, Response, status
from pydantic import Field

from api.routes.access import ShopAccess
from api.routes.shapes import AboutUnit, Limit, Offset, PageShape, PlanShape, Shape
from api.shop.estimates import unit_and_model
from api.shop.exchanged_parts import in_model_currency
from api.shop.models import stored_model
from api.shop.plan_picture import plan_picture
from api.shop.plans import PlanWish, get_plan, keep_plan, list_plans, plan_stored, plan_unit
from api.shop.proceeds import SaleWish
from api.shop.statements import PlanStatement
from pricing.records.day_rate import DayRate
from pricing.records.part_offer import PartOffer
from pricing.records.plan import Plan
from pricing.records.plan_terms import PlanTerms
from pricing.records.shelf import ShelfPlan
from pricing.records.stock import StockPart

router = APIRouter(prefix="/plans", tags=["plans"])

# A name, never the path of a file.
ChannelName = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9_-]{0,79}$")]


class Bench(Shape):
    """What a plan is to reckon with.

    Attributes:
        offers: The parts list; amounts in any currency.
        stock: The parts that lie there already; amounts in any currency.
        rates: Own rates per unit of the model's currency; without them the published reference rates.
        terms: Of the bench.
        channel: Name of the channel; without it the net is the price.
        zone: Where it is sent.
        country: Whose tax is charged.
        seed: Fixes the draws.
        always: Plan even where the model would decline.
    """

    offers: tuple[PartOffer, ...] = Field(default=(), max_length=2_000)
    stock: tuple[StockPart, ...] = Field(default=(), max_length=2_000)
    rates: tuple[DayRate, ...] = Field(default=(), max_length=20_000)
    terms: PlanTerms = PlanTerms()
    channel: ChannelName | None = None
    zone: str | None = None
    country: Annotated[str | None, Field(pattern=r"^[A-Za-z]{2}$")] = None
    seed: int = Field(default=0, ge=0, le=2**32 - 1)
    always: bool = False


class NewPlan(AboutUnit, Bench):
    """The wish to have a plan of one unit."""


class NewShelfPlan(Bench):
    """The wish to have a plan of all stored units of a class.

    Attributes:
        device_class: Name of the class.
        model: Fingerprint of the model; the latest of the class by default.
        on: Day to price for.
        hours: Bench hours of the week; without them there is no limit.
    """

    device_class: str
    model: str | None = None
    on: date | None = None
    hours: float | None = Field(default=None, ge=0, le=10_000)


@router.post("", status_code=status.HTTP_201_CREATED)
def plan(shop: ShopAccess, wish: NewPlan) -> PlanShape:
    """Say which repairs pay, in which order, and when to stop, and keep what was said."""
    unit, model = unit_and_model(shop, wish.unit, wish.unit_number, wish.model)
    asked = in_model_currency(shop, model, _wished(wish, wish.on, wish.unit_number), wish.rates)
    return _shape(keep_plan(shop, model, unit, asked))


@router.post("/picture", response_class=Response, responses={200: {"content": {"image/svg+xml": {}}}})
def picture(shop: ShopAccess, wish: NewPlan) -> Response:
    """Draw the plan's tree as SVG; nothing is kept."""
    unit, model = unit_and_model(shop, wish.unit, wish.unit_number, wish.model)
    asked = in_model_currency(shop, model, _wished(wish, wish.on, wish.unit_number), wish.rates)
    return _drawn(plan_unit(shop, model, unit, asked))


@router.post("/shelf")
def shelf(shop: ShopAccess, wish: NewShelfPlan) -> ShelfPlan:
    """Say which stored units take which part on stock, which give parts to which, and which jobs fill the week."""
    model = stored_model(shop, wish.device_class, wish.model)
    asked = in_model_currency(shop, model, _wished(wish, wish.on, None), wish.rates)
    return plan_stored(shop, model, asked, hours=wish.hours)


@router.get("")
def list_given(
    shop: ShopAccess,
    unit_number: Annotated[str | None, Query(description="Only of this unit.")] = None,
    limit: Limit = 50,
    offset: Offset = 0,
) -> PageShape[PlanShape]:
    """List the plans that were given, the latest first."""
    page = list_plans(shop, unit_number=unit_number, limit=limit, offset=offset)
    shapes = tuple(_shape(statement) for statement in page.items)
    return PageShape[PlanShape](items=shapes, total=page.total, offset=page.offset)


@router.get("/{number}")
def get(shop: ShopAccess, number: int) -> PlanShape:
    """Return a plan as it was given."""
    return _shape(get_plan(shop, number))


@router.get("/{number}/picture", response_class=Response, responses={200: {"content": {"image/svg+xml": {}}}})
def kept_picture(shop: ShopAccess, number: int) -> Response:
    """Draw the tree of a plan that was given as SVG."""
    return _drawn(get_plan(shop, number).said)


def _drawn(plan: Plan) -> Response:
    return Response(plan_picture(plan), media_type="image/svg+xml")


def _shape(statement: PlanStatement) -> PlanShape:
    return PlanShape(
        number=statement.number,
        unit_number=statement.unit.number,
        at=statement.at,
        digest=statement.digest,
        plan=statement.said,
    )


def _wished(bench: Bench, on: date | None, number: str | None) -> PlanWish:
    sale = None
    if bench.channel is not None:
        sale = SaleWish(bench.channel, unit_number=number, zone=bench.zone, country=bench.country, on=on)
    return PlanWish(
        offers=bench.offers,
        stock=bench.stock,
        terms=bench.terms,
        sale=sale,
        on=on,
        seed=bench.seed,
        always=bench.always,
    )
