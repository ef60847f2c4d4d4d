"""Costs over HTTP: a unit's ledger is added to, never changed."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Query, status

from api.routes.access import ShopAccess
from api.routes.cost_shapes import (
    BasisShape,
    CostShape,
    CostToKeep,
    CostToTakeBack,
    LotSharesShape,
    LotToDivide,
    UnitsScrapped,
)
from api.routes.shapes import Limit, Offset, PageShape
from api.shop.costs import CostKept, add_cost, list_costs, take_back, unit_costs
from api.shop.lot_costs import hand_on, lot_shares_of, share_lot
from pricing.records.cost import NumberedEntry

router = APIRouter(prefix="/costs", tags=["costs"])

OfUnit = Annotated[str, Query(description="Number of the stored unit.")]


@router.post("", status_code=status.HTTP_201_CREATED)
def add(shop: ShopAccess, wish: CostToKeep) -> CostShape:
    """Write a cost into a unit's ledger; what was really charged wins over the published rate."""
    return _shape(add_cost(shop, wish.unit_number, wish.cost, base=wish.base, purchase=wish.purchase))


@router.get("")
def list_written(
    shop: ShopAccess, unit_number: OfUnit, limit: Limit = 50, offset: Offset = 0
) -> PageShape[NumberedEntry]:
    """List a unit's ledger in the order in which it was written."""
    return PageShape[NumberedEntry].model_validate(list_costs(shop, unit_number, limit=limit, offset=offset))


@router.get("/basis")
def basis(shop: ShopAccess, unit_number: OfUnit, on: date | None = None) -> BasisShape:
    """Say what a unit has cost up to and with a day, by default today."""
    return BasisShape(basis=unit_costs(shop, unit_number, on=on).basis)


@router.post("/{entry}/reversal", status_code=status.HTTP_201_CREATED)
def reverse(shop: ShopAccess, entry: int, wish: CostToTakeBack) -> CostShape:
    """Take an entry back with another one; both stay in the ledger."""
    return _shape(take_back(shop, wish.unit_number, entry, wish.reason, on=wish.on))


@router.post("/lots", status_code=status.HTTP_201_CREATED)
def divide_lot(shop: ShopAccess, wish: LotToDivide) -> LotSharesShape:
    """Divide a lot's costs into the ledgers of its units, all of them or none."""
    return LotSharesShape.model_validate(share_lot(shop, wish.lot, base=wish.base))


@router.get("/lots/{lot}")
def lot_shares(shop: ShopAccess, lot: str) -> LotSharesShape:
    """Say what each unit carries of a lot."""
    return LotSharesShape.model_validate(lot_shares_of(shop, lot))


@router.post("/lots/{lot}/scrapped", status_code=status.HTTP_201_CREATED)
def scrap(shop: ShopAccess, lot: str, wish: UnitsScrapped) -> LotSharesShape:
    """Hand the costs of scrapped units on to the other units of their lot; without this they keep them."""
    return LotSharesShape.model_validate(hand_on(shop, lot, wish.units, on=wish.on, reason=wish.reason))


def _shape(kept: CostKept) -> CostShape:
    return CostShape(entry=kept.kept, basis=kept.basis, notices=kept.notices)
