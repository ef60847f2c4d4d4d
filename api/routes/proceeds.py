"""Net proceeds over HTTP: what a sale would leave, and the answer to an offer."""

from __future__ import annotations

from fastapi import APIRouter

from api.routes.access import ShopAccess
from api.routes.cost_shapes import ChannelsShape, OfferShape, OutlookShape, PoolShape, SaleShape, SaleTermsShape
from api.shop.proceeds import OfferWish, SaleWish, counters_of, list_channels, offer_answer, sale_outlook
from api.shop.tax_pool import closed_pool
from pricing.records.proceeds import OfferAnswer
from pricing.records.tax import PoolResult

router = APIRouter(prefix="/proceeds", tags=["proceeds"])


@router.post("")
def count(shop: ShopAccess, sale: SaleShape) -> OutlookShape:
    """Say what a sale at a price leaves, line by line, and at which price all costs come back."""
    return OutlookShape.model_validate(sale_outlook(shop, sale.price, _wish(sale)))


@router.post("/offers")
def answer(shop: ShopAccess, asked: OfferShape) -> OfferAnswer:
    """Say whether to take an offer, name another price or wait, with the expected net of each."""
    counters = counters_of((counter.price, counter.chance) for counter in asked.counters)
    return offer_answer(shop, OfferWish(asked.offer, asked.waiting, asked.ask, counters, asked.stands), _wish(asked))


@router.post("/pool")
def close(shop: ShopAccess, wish: PoolShape) -> PoolResult:
    """Say which tax a period of pooled margins comes to, and what is carried forward."""
    return closed_pool(shop, wish.period, wish.tax)


@router.get("/channels")
def channels(shop: ShopAccess) -> ChannelsShape:
    """List the channels there are."""
    return ChannelsShape(channels=list_channels(shop))


def _wish(terms: SaleTermsShape) -> SaleWish:
    return SaleWish(
        channel=terms.channel,
        unit_number=terms.unit_number,
        zone=terms.zone,
        country=terms.tax,
        pooled=terms.pooled,
        on_full_price=terms.on_full_price,
        lot_credits=terms.lot_credits,
        on=terms.on,
    )
