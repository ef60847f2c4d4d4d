"""Comparables over HTTP."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, status

from api.routes.access import ShopAccess
from api.routes.shapes import Limit, NewSales, Offset, PageShape, ProblemShape, SaleShape, SalesKept
from api.shop.comparables import import_rows, list_sales

router = APIRouter(prefix="/comparables", tags=["comparables"])


@router.get("")
def list_comparables(
    shop: ShopAccess,
    device_class: Annotated[str, Query(description="Name of the class.")],
    limit: Limit = 50,
    offset: Offset = 0,
) -> PageShape[SaleShape]:
    """List the stored sales of a class."""
    page = list_sales(shop, device_class, limit=limit, offset=offset)
    return PageShape[SaleShape].model_validate(page)


@router.post("", status_code=status.HTTP_201_CREATED)
def add_comparables(shop: ShopAccess, sent: NewSales) -> SalesKept:
    """Store sales; the very same ones are stored once."""
    device_class = shop.class_called(sent.device_class)
    kept = import_rows(shop, sent.rows, device_class, base=sent.base, keep_good=sent.keep_good)
    return SalesKept(
        batch=kept.batch.number,
        rows=kept.batch.rows,
        rows_read=kept.rows_read,
        new=kept.batch.new,
        currency=kept.batch.currency,
        problems=tuple(ProblemShape.model_validate(problem) for problem in kept.problems),
        notices=kept.notices,
    )
