"""Listings: writing one, keeping it, reading a text against a unit."""

from __future__ import annotations

from datetime import date

from api.shop.shop import Shop
from data.storage.page import Page
from data.storage.statements import Statement
from listing_templates.honesty import read_text
from listing_templates.render import render_listing
from pricing.estimation.estimate import estimate_unit
from pricing.hedonic.model import PriceModel
from pricing.records.channel import Channel
from pricing.records.device_class import DeviceClass
from pricing.records.finding import Finding
from pricing.records.listing import Format, Listing
from pricing.records.money import Money
from pricing.records.shop_terms import ShopTerms
from pricing.records.unit import Unit
from pricing.records.unit_columns import check_unit

LANGUAGE = "en"


def write_listing(
    unit: Unit,
    device_class: DeviceClass,
    *,
    form: Format,
    on: date,
    model: PriceModel | None = None,
    language: str = LANGUAGE,
    terms: ShopTerms | None = None,
    channel: Channel | None = None,
) -> Listing:
    """Return the listing of a unit; its price is the unit's ask, else the model's estimate, else none.

    Within the limits of ``channel`` descriptions may be left off, and ``Listing.left_off`` tells which.

    Raises:
        BadInput: The unit does not fit its class.
        NotFound: There is no such language.
        ListingRefused: The unit may not be offered at all, or the channel has no room for its disclosures.
    """
    check_unit(unit, device_class)
    price = unit.ask or _estimated(unit, model)
    return render_listing(
        unit, device_class, format=form, language=language, on=on, price=price, terms=terms, channel=channel
    )


def keep_listing(shop: Shop, unit: Unit, listing: Listing) -> Statement[Listing]:
    """Keep a listing with the unit's facts, the time and a digest."""
    with shop.store.writing(shop.now()) as work:
        return work.listings.add(unit, listing)


def check_text(text: str, unit: Unit, device_class: DeviceClass) -> tuple[Finding, ...]:
    """Return what a text leaves out of, or says against, a unit's facts.

    Raises:
        BadInput: The unit does not fit its class.
    """
    check_unit(unit, device_class)
    return read_text(text, unit, device_class)


def get_listing(shop: Shop, number: int) -> Statement[Listing]:
    """Return a listing as it was kept.

    Raises:
        NotFound: None has this number.
    """
    with shop.store.reading() as work:
        return work.listings.get(number)


def list_listings(
    shop: Shop, *, unit_number: str | None, limit: int, offset: int
) -> Page[Statement[Listing]]:
    """Return listings, the latest first, all or of one unit."""
    with shop.store.reading() as work:
        return work.listings.page(unit_number=unit_number, limit=limit, offset=offset)


def _estimated(unit: Unit, model: PriceModel | None) -> Money | None:
    if model is None:
        return None
    return estimate_unit(model, unit).estimate
