"""Kept listings: what happened to each, where it stands now, and which facts changed since."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from api.shop.cautions import cautions_to_post
from api.shop.shop import Shop
from api.shop.statements import ListingStatement
from api.shop.stating import stated
from data.storage.digest import digest_of_text
from data.storage.listing_steps import StoredStep
from data.storage.page import Page
from data.storage.unit_of_work import UnitOfWork
from data.storage.units import StoredUnit
from listing_templates.kept_facts import kept_facts
from pricing.errors import NotFound, StaleVersion
from pricing.records.device_class import DeviceClass
from pricing.records.listing_step import (
    Edited,
    ListingState,
    ListingStep,
    Sold,
    Withdrawn,
    check_may,
    publication_in,
    text_after,
)
from pricing.records.publication import FactChange, Publication, changed_facts
from pricing.records.stops import refuse_if_held_back, stops_for, with_checks_of_today
from pricing.records.unit import Unit

_ENDED = ("sold", "withdrawn")


@dataclass(frozen=True)
class KeptListing:
    """A kept listing with its history.

    Attributes:
        written: As it was written.
        steps: What happened to it since, in order.
        stored: The unit as it is in the store now; None: it is not there.
        unit: The unit with what counts today: the stored one, checks of locks that grew old counting as not made.
        device_class: The unit's class now.
        changed: Facts that are no longer as they were when it was published, or written when it is a draft.
        intact: Nothing of it was changed behind the program's back.
    """

    written: ListingStatement
    steps: tuple[StoredStep, ...]
    stored: StoredUnit | None
    unit: Unit
    device_class: DeviceClass
    changed: tuple[FactChange, ...]
    intact: bool

    @property
    def number(self) -> int:
        """Its number in the store."""
        return self.written.number

    @property
    def state(self) -> ListingState:
        """Where it stands."""
        return self.steps[-1].state if self.steps else "draft"

    @property
    def done(self) -> tuple[ListingStep, ...]:
        """What was done, without times and digests."""
        return tuple(stored.step for stored in self.steps)

    @property
    def text(self) -> str:
        """The text that counts: the seller's last edit, else ours."""
        return text_after(self.written.said.body, self.done)

    @property
    def text_digest(self) -> str:
        """SHA-256 of the text that counts."""
        return digest_of_text(self.text)

    @property
    def publication(self) -> Publication | None:
        """What was published, if anything was."""
        return publication_in(self.done)

    @property
    def stale(self) -> bool:
        """Whether it stands in public although facts have changed."""
        return self.state == "published" and bool(self.changed)


@dataclass(frozen=True)
class _Parts:
    """What the store holds of a listing."""

    written: ListingStatement
    steps: tuple[StoredStep, ...]
    stored: StoredUnit | None
    intact: bool


@dataclass(frozen=True)
class ListingSold:
    """A listing after the sale, and what the seller should know."""

    kept: KeptListing
    notices: tuple[str, ...]


def get_kept(shop: Shop, number: int) -> KeptListing:
    """Return a kept listing as it stands now.

    Raises:
        NotFound: None has this number, or the unit's class is gone.
    """
    with shop.store.reading() as work:
        parts = _parts(work, number)
    return _kept(shop, parts)


def list_kept(
    shop: Shop, *, state: ListingState | None = None, unit_number: str | None = None, limit: int, offset: int
) -> Page[KeptListing]:
    """Return kept listings, the latest first, of one state, of one unit, or all; ``limit`` 0 means all."""
    with shop.store.reading() as work:
        page = work.listing_steps.listings_in(state, unit_number=unit_number, limit=limit, offset=offset)
        parts = [_parts(work, number) for number in page.items]
    return Page(tuple(_kept(shop, part) for part in parts), page.total, page.offset)


def edit_text(shop: Shop, number: int, text: str) -> KeptListing:
    """Put the seller's text in place of ours; it is a draft again.

    Raises:
        NotFound: No listing has this number.
        BadInput: The text is empty or too long.
        ListingRefused: It is published, sold or withdrawn.
    """
    edited = stated(Edited, "listing", {"text": text})
    return add_step(shop, number, lambda _: edited)


def withdraw(shop: Shop, number: int, *, reason: str, by: str) -> KeptListing:
    """Give up a draft, or take down what is published.

    Raises:
        NotFound: No listing has this number.
        BadInput: The reason or who gives it is empty or too long.
        ListingRefused: It is sold or withdrawn already.
    """
    withdrawn = stated(Withdrawn, "withdrawal", {"reason": reason, "by": by})
    return add_step(shop, number, lambda _: withdrawn)


def sell(shop: Shop, number: int, *, by: str, buyer: str | None = None) -> ListingSold:
    """Mark a published listing as sold; ``buyer`` is the reference under which its lines were accepted.

    Raises:
        NotFound: No listing has this number.
        BadInput: ``buyer`` is no reference, or ``by`` is empty or too long.
        ListingRefused: It is not published.
        HeldBack: The unit may not be sold at all.
    """
    sold = stated(Sold, "sale", {"buyer": buyer, "by": by})

    def sale_of(kept: KeptListing) -> ListingStep:
        """Return the sale, unless the unit is held back."""
        refuse_if_held_back(kept.unit)
        return sold

    kept = add_step(shop, number, sale_of)
    return ListingSold(kept, _after_sale(shop, kept, buyer))


def add_step(
    shop: Shop, number: int, step_of: Callable[[KeptListing], ListingStep], *, unit_version: int | None = None
) -> KeptListing:
    """Add the step that ``step_of`` makes of the listing as it stands, and return it with that step.

    With ``unit_version`` only while the unit is at this version.

    Raises:
        NotFound: No listing has this number.
        ListingRefused: The step is not possible in this state.
        StaleVersion: Somebody went on with the listing, or changed the unit, meanwhile.
    """
    before = get_kept(shop, number)
    step = step_of(before)
    check_may(step.did, before.state, number)
    with shop.store.writing(shop.now()) as work:
        stored = before.stored
        if unit_version is not None and stored is not None and stored.unit.number is not None:
            now = work.units.get(stored.unit.number).version
            if now != unit_version:
                raise StaleVersion(f"unit {stored.unit.number} was changed meanwhile: check listing {number} again")
        work.listing_steps.add(number, step, before.steps)
    return get_kept(shop, number)


def _parts(work: UnitOfWork, number: int) -> _Parts:
    written, steps = work.listings.get(number), work.listing_steps.steps(number)
    stored = None if written.unit.number is None else _stored_unit(work, written.unit.number)
    intact = work.listings.is_intact(number) and all(step.intact for step in steps)
    return _Parts(written, steps, stored, intact)


def _stored_unit(work: UnitOfWork, number: str) -> StoredUnit | None:
    try:
        return work.units.get(number)
    except NotFound:
        return None


def _kept(shop: Shop, parts: _Parts) -> KeptListing:
    described = parts.written.unit if parts.stored is None else parts.stored.unit
    device_class = shop.class_called(described.device_class)
    unit = with_checks_of_today(described, device_class, shop.today)
    published = publication_in(step.step for step in parts.steps)
    # What was sold or taken down stays as it was, whatever becomes of the unit.
    over = bool(parts.steps) and parts.steps[-1].state in _ENDED
    before = kept_facts(parts.written.unit, device_class) if published is None else published.facts
    changed = () if over else changed_facts(before, kept_facts(unit, device_class))
    return KeptListing(parts.written, parts.steps, parts.stored, unit, device_class, changed, parts.intact)


def _after_sale(shop: Shop, kept: KeptListing, buyer: str | None) -> tuple[str, ...]:
    notices = [f"before it is sent: {stop.reason}" for stop in stops_for("send", kept.unit, kept.device_class)]
    with shop.store.reading() as work:
        accepted = buyer is not None and work.acceptances.accepted(kept.number, buyer)
        unit_number = kept.written.unit.number
        others = work.listing_steps.listings_in("published", unit_number=unit_number, limit=0, offset=0).items
    published = kept.publication
    if published is not None and published.deviations and not accepted:
        who = "a buyer" if buyer is None else buyer
        notices.append(f"no answer is kept in which {who} accepts every line of this listing")
    if unit_number is not None:
        notices.extend(f"listing {other} of the same unit is still published: withdraw it" for other in others)
    return (*notices, *cautions_to_post(kept.unit, kept.device_class))
