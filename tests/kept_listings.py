"""A shop with one stored unit and a listing of it, on which publishing is tried."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from api.settings import Settings
from api.shop.kept_listings import KeptListing
from api.shop.listing_checks import answer_finding, check_listing, last_check
from api.shop.listings import keep_listing, write_listing
from api.shop.publications import publish
from api.shop.shop import Shop
from api.shop.terms import terms_of_shop
from api.shop.units import change_unit, get_unit
from pricing.records.unit import Unit

NOW = datetime(2026, 6, 10, 9, 0, tzinfo=UTC)
TERMS: dict[str, Any] = {
    "shop_name": "Bench Nine", "returns_days": 14, "return_postage": "shop", "guarantee_months": 3,
}  # fmt: skip
LENS: dict[str, Any] = {
    "class": "lens",
    "number": "U1",
    "attributes": {"brand": "Arvel", "model": "N2"},
    "functions": {"lens_focus": "dead"},
    "ask": {"amount": "90", "currency": "EUR"},
}


def shop_in(folder: Path, **settings: Any) -> Shop:
    """Return a shop that has stated its terms but for its country, and holds the unit U1."""
    made = Shop(Settings(home=folder, **{**TERMS, **settings}), lambda: NOW)
    with made.store.writing(NOW) as work:
        work.units.add(Unit.model_validate(LENS))
    return made


def draft(shop: Shop, *, channel: Any = None, unit: Unit | None = None, **wish: Any) -> int:
    """Write and keep a listing of U1; return its number."""
    described = unit or get_unit(shop, "U1").unit
    listing = write_listing(
        described,
        shop.class_called(described.device_class),
        form=wish.get("form", "text"),
        on=NOW.date(),
        terms=terms_of_shop(shop.settings),
        channel=channel,
    )
    return keep_listing(shop, described, listing).number


def with_answers(shop: Shop, number: int) -> KeptListing:
    """Check a listing and answer every soft finding."""
    kept = check_listing(shop, number)
    check = last_check(kept)
    for place, raised in enumerate(() if check is None else check.findings, start=1):
        if raised.stands_open:
            kept = answer_finding(shop, number, place, reason="an adviser said so", by="desk")
    return kept


def published(shop: Shop, **wish: Any) -> int:
    """Write, check and publish a listing of U1; return its number."""
    number = draft(shop, **wish)
    publish(shop, number, confirmed_by="desk", text_digest=with_answers(shop, number).text_digest)
    return number


def change(shop: Shop, **fields: Any) -> None:
    """Change fields of U1 in the store."""
    stored = get_unit(shop, "U1")
    change_unit(shop, Unit.model_validate({**stored.unit.model_dump(by_alias=True), **fields}), stored.version)
