"""What every route is handed: the shop, and a page's limits."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends, Request

from api.shop.shop import Shop


def _shop_of(request: Request) -> Shop:
    shop = request.app.state.shop
    assert isinstance(shop, Shop)  # noqa: S101 - set where the app is built
    return shop


ShopAccess = Annotated[Shop, Depends(_shop_of)]
