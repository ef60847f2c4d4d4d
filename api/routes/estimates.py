"""Estimates over HTTP, with what-ifs and explanations."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, status

from api.routes.access import ShopAccess
from api.routes.shapes import AboutUnit, EstimateShape, Limit, NewEstimate, NewWhatIf, Offset, PageShape
from api.shop.estimates import (
    explanation,
    get_estimate,
    keep_estimate,
    list_estimates,
    unit_and_model,
    what_if_changed,
)
from api.shop.statements import EstimateStatement
from pricing.records.estimate import Explanation, WhatIf

router = APIRouter(prefix="/estimates", tags=["estimates"])


@router.post("", status_code=status.HTTP_201_CREATED)
def price(shop: ShopAccess, wish: NewEstimate) -> EstimateShape:
    """Price a unit and keep what was said; refused where the model declines, unless ``always``."""
    unit, model = unit_and_model(shop, wish.unit, wish.unit_number, wish.model)
    return _shape(keep_estimate(shop, model, unit, on=wish.on, always=wish.always))


@router.post("/what-if")
def what_if(shop: ShopAccess, wish: NewWhatIf) -> WhatIf:
    """Say what changes to a unit do to its price; the interval is of the change."""
    unit, model = unit_and_model(shop, wish.unit, wish.unit_number, wish.model)
    return what_if_changed(model, unit, wish.changes, on=wish.on)


@router.post("/explanation")
def explain(shop: ShopAccess, wish: AboutUnit) -> Explanation:
    """Say what makes a unit's price, and which stored sales are most similar."""
    unit, model = unit_and_model(shop, wish.unit, wish.unit_number, wish.model)
    return explanation(shop, model, unit, on=wish.on)


@router.get("")
def list_given(
    shop: ShopAccess,
    unit_number: Annotated[str | None, Query(description="Only of this unit.")] = None,
    limit: Limit = 50,
    offset: Offset = 0,
) -> PageShape[EstimateShape]:
    """List the estimates that were given, the latest first."""
    page = list_estimates(shop, unit_number=unit_number, limit=limit, offset=offset)
    shapes = tuple(_shape(statement) for statement in page.items)
    return PageShape[EstimateShape](items=shapes, total=page.total, offset=page.offset)


@router.get("/{number}")
def get(shop: ShopAccess, number: int) -> EstimateShape:
    """Return an estimate as it was given."""
    return _shape(get_estimate(shop, number))


def _shape(statement: EstimateStatement) -> EstimateShape:
    return EstimateShape(
        number=statement.number,
        unit_number=statement.unit.number,
        at=statement.at,
        digest=statement.digest,
        estimate=statement.said,
    )
