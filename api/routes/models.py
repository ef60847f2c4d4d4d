"""Models over HTTP."""

from __future__ import annotations

from fastapi import APIRouter, status

from api.routes.access import ShopAccess
from api.routes.shapes import FittedModel, Limit, ModelShape, NewModel, Offset, PageShape
from api.shop.models import fit_store, list_models

router = APIRouter(prefix="/models", tags=["models"])


@router.get("")
def list_stored(shop: ShopAccess, limit: Limit = 50, offset: Offset = 0) -> PageShape[ModelShape]:
    """List the stored models, the latest first."""
    return PageShape[ModelShape].model_validate(list_models(shop, limit=limit, offset=offset))


@router.post("", status_code=status.HTTP_201_CREATED)
def fit_model(shop: ShopAccess, wish: NewModel) -> FittedModel:
    """Fit a model to the stored sales of a class, and store it as the latest."""
    model = fit_store(shop, wish.device_class, on=wish.on, seed=wish.seed).model
    return FittedModel(
        fingerprint=model.fingerprint,
        device_class=model.device_class.name,
        currency=model.currency,
        rows=model.rows,
        on=model.on,
        of_asking_price=model.of_asking_price,
        notices=model.notices,
    )
