"""Listings: writing one, keeping it, reading a text against a unit."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from api.shop.shop import Shop
from api.shop.terms import terms_of_shop
from data.storage.statements import Statement
from listing_templates.fact_texts import facts_in
from listing_templates.honesty import read_text
from listing_templates.illustrations import Illustration
from listing_templates.render import render_listing
from listing_templates.terms import terms_facts
from listing_templates.why import Reason, why
from listing_templates.wording import Wording
from pricing.estimation.estimate import estimate_unit
from pricing.hedonic.model import PriceModel
from pricing.records.channel import Channel
from pricing.records.device_class import DeviceClass
from pricing.records.finding import Finding
from pricing.records.listing import Format, Listing
from pricing.records.money import Money
from pricing.records.shop_terms import ShopTerms
from pricing.records.stops import refuse_if_held_back, with_checks_of_today
from pricing.records.unit import Unit
from pricing.records.unit_columns import check_unit

LANGUAGE = "en"
_OF_WHOLE_LISTINGS = ("missing", "not stated")


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
    illustrations: Sequence[Illustration] = (),
) -> Listing:
    """Return the listing of a unit with its photos; its price is the unit's ask, else the model's estimate, else none.

    Within the limits of ``channel`` descriptions may be left off, and ``Listing.left_off`` tells which. Checks of
    locks that have grown old by ``on`` count as not made.

    Raises:
        BadInput: The unit does not fit its class.
        HeldBack: The unit may be neither sold nor stripped.
        NotFound: There is no such language.
        ListingRefused: The unit may not be offered at all, or the channel has no room for its disclosures.
    """
    check_unit(unit, device_class)
    refuse_if_held_back(unit)
    listing = render_listing(
        with_checks_of_today(unit, device_class, on),
        device_class,
        format=form,
        language=language,
        on=on,
        price=unit.ask or _estimated(unit, model),
        terms=terms,
        channel=channel,
        illustrations=illustrations,
    )
    return listing if channel is None else listing.model_copy(update={"channel": channel.name})


def render_of(
    shop: Shop, written: Listing, unit: Unit, device_class: DeviceClass, channel: Channel | None
) -> Listing:
    """Return a listing written anew from the unit as it is now, in the same way as ``written``.

    Raises:
        ListingRefused: The unit may not be offered at all, or the channel has no room for its disclosures.
    """
    listing = render_listing(
        unit,
        device_class,
        format=written.format,
        language=written.language,
        on=written.on,
        price=unit.ask or written.price,
        terms=terms_of_shop(shop.settings),
        channel=channel,
    )
    return listing.model_copy(update={"channel": written.channel})


def keep_listing(shop: Shop, unit: Unit, listing: Listing) -> Statement[Listing]:
    """Keep a listing with the unit's facts, the time and a digest."""
    with shop.store.writing(shop.now()) as work:
        return work.listings.add(unit, listing)


def check_text(
    text: str, unit: Unit, device_class: DeviceClass, *, on: date, language: str = LANGUAGE, answer: bool = False
) -> tuple[Finding, ...]:
    """Return what a text leaves out of, or says against, a unit's facts, as they count on this day.

    An ``answer`` to a buyer need not say everything again: of it only what is said is judged.

    Raises:
        BadInput: The unit does not fit its class.
        NotFound: There is no such language.
    """
    check_unit(unit, device_class)
    found = read_text(text, with_checks_of_today(unit, device_class, on), device_class, language=language)
    return tuple(finding for finding in found if not answer or finding.kind not in _OF_WHOLE_LISTINGS)


def reasons_of(
    listing: Listing, unit: Unit, device_class: DeviceClass, terms: ShopTerms, identifier: str
) -> tuple[Reason, ...]:
    """Return why a listing of this unit says the sentences with this identifier ("function.dead").

    Raises:
        NotFound: It has no such sentence, or there is no such language.
    """
    facts = (*facts_in(unit, device_class, listing.language), *terms_facts(terms, listing.on))
    return why(listing.sentences, identifier, facts, Wording(listing.language))


def _estimated(unit: Unit, model: PriceModel | None) -> Money | None:
    if model is None:
        return None
    return estimate_unit(model, unit).estimate
