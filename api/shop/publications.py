"""Publishing: the text that was checked is confirmed, and kept with everything that shows later what was said.

What stands in public is what a person confirmed by its digest, after a check against the facts of that moment.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from importlib.metadata import version
from typing import Literal

from api.shop.channels import channel_called
from api.shop.kept_listings import KeptListing, add_step, get_kept, list_kept
from api.shop.listing_checks import check_of, photos_of_kept
from api.shop.listings import render_of
from api.shop.photos import addresses
from api.shop.shop import Shop
from api.shop.stating import stated
from listing_templates.deviations import deviations_of
from listing_templates.feed import csv_feed, ndjson_feed
from listing_templates.kept_facts import kept_facts
from listing_templates.sheet import render_sheet
from listing_templates.sheet_rules import UNION
from pricing.errors import BadInput, ListingRefused, Problem, counted, shortened
from pricing.records.listing import Listing
from pricing.records.listing_step import Checked, Published, check_may
from pricing.records.publication import Publication

_SHORTEST_DIGEST = 8
_MOST_TOLD = 5
FeedForm = Literal["csv", "ndjson"]
_FEEDS = {"csv": csv_feed, "ndjson": ndjson_feed}


@dataclass(frozen=True)
class PublishedListing:
    """A listing that was published, with its publication."""

    kept: KeptListing
    publication: Publication


def publish(
    shop: Shop, number: int, *, confirmed_by: str, text_digest: str, photos: Sequence[str] | None = None
) -> PublishedListing:
    """Publish a checked listing after checking it once more.

    Args:
        shop: The shop.
        number: The listing's number.
        confirmed_by: Who says that the text is true.
        text_digest: SHA-256 of the text that they have read, or its first 8 characters or more.
        photos: SHA-256 of each photo, in the order in which they are shown; None: those of the unit that show what
            is the case now.

    Raises:
        NotFound: No listing has this number, or its channel is gone.
        BadInput: The digest is that of another text, or too short; or ``confirmed_by`` says nothing.
        ListingRefused: It was not checked, or something now stands against it; a new check with that is kept.
        StaleVersion: The listing or its unit was changed meanwhile.
    """
    before = get_kept(shop, number)
    check_may("published", before.state, number)
    _refuse_other_text(before, text_digest)
    check = check_of(shop, before)
    if not check.passed:
        add_step(shop, number, lambda _: check)
        raise ListingRefused(f"listing {number} cannot be published: {_told(check)}")
    shown = _shown_photos(shop, before) if photos is None else tuple(photos)
    publication = _publication(shop, before, confirmed_by, shown)
    kept = add_step(
        shop, number, lambda _: Published(publication=publication), unit_version=publication.unit_version
    )
    return PublishedListing(kept, publication)


def published_listing(shop: Shop, number: int) -> PublishedListing:
    """Return a listing with what was published, whatever became of it since.

    Raises:
        NotFound: No listing has this number.
        ListingRefused: It was never published.
    """
    kept = get_kept(shop, number)
    if kept.publication is None:
        raise ListingRefused(f"listing {number} is {kept.state}: nothing of it was published")
    return PublishedListing(kept, kept.publication)


def standing_listing(shop: Shop, number: int) -> PublishedListing:
    """Return a listing that stands in public and is still true.

    Raises:
        NotFound: No listing has this number.
        ListingRefused: It is not published now, or facts have changed since.
    """
    found = published_listing(shop, number)
    if found.kept.state != "published":
        raise ListingRefused(f"listing {number} is {found.kept.state}, no longer published")
    if found.kept.stale:
        keys = ", ".join(change.key for change in found.kept.changed[:_MOST_TOLD])
        raise ListingRefused(f"listing {number} is stale, for facts have changed: {keys}; withdraw it, write it anew")
    return found


def sheet_of(shop: Shop, number: int, country: str | None = None) -> str:
    """Return the sheet for a sale in person of a published listing as a page of HTML.

    ``country`` chooses whose rules are named; without it the shop's, else those of the Union.

    Raises:
        NotFound: No listing has this number, or there are no rules for that country.
        ListingRefused: It is not published now, or stale.
    """
    found = standing_listing(shop, number)
    chosen = country or shop.settings.country or UNION
    return render_sheet(found.publication.listing, country=chosen, digest=found.publication.text_digest)


def feed_of(shop: Shop, form: FeedForm) -> str:
    """Return all published listings as one text, the latest first; stale ones are left out."""
    return "".join(_FEEDS[form](_standing(shop)))


def _standing(shop: Shop) -> list[Listing]:
    found = list_kept(shop, state="published", limit=0, offset=0).items
    return [kept.publication.listing for kept in found if kept.publication is not None and not kept.stale]


def _shown_photos(shop: Shop, kept: KeptListing) -> tuple[str, ...]:
    photos = photos_of_kept(shop, kept)
    return () if photos is None else tuple(dict.fromkeys(photo.digest for photo in photos.current))


def _publication(shop: Shop, kept: KeptListing, confirmed_by: str, photos: Sequence[str]) -> Publication:
    stored, said = kept.stored, kept.written.said
    assert stored is not None  # noqa: S101 - a check without a stored unit does not pass
    channel = None if said.channel is None else channel_called(shop, said.channel)
    ours = render_of(shop, said, kept.unit, kept.device_class, channel)
    return stated(Publication, "publication", {
        "listing": ours.model_copy(
            update={"body": kept.text, "photos": said.photos, "images": addresses(shop, photos)}
        ),
        "text_digest": kept.text_digest,
        "unit": stored.unit,
        "unit_version": stored.version,
        "facts": kept_facts(kept.unit, kept.device_class),
        "deviations": deviations_of(ours.sentences, shop.settings.country or UNION),
        "photos": tuple(photos),
        "channel": said.channel,
        "confirmed_by": confirmed_by,
        "program": version("plainsale"),
    })  # fmt: skip


def _refuse_other_text(kept: KeptListing, text_digest: str) -> None:
    """Let pass the digest of the text that counts, or enough of its beginning.

    Raises:
        BadInput: It is another, or too short.
    """
    given = text_digest.strip().casefold()
    if len(given) < _SHORTEST_DIGEST or not kept.text_digest.startswith(given):
        expected = f"{kept.text_digest}, the digest of the text as it is now, or at least its first 8 characters"
        problem = Problem("request", None, "text_digest", shortened(text_digest), expected)
        raise BadInput(str(problem), (problem,))


def _told(check: Checked) -> str:
    still_open = [raised.finding for raised in check.findings if raised.stands_open]
    told = [*check.stops, *(f"{finding.kind}: {finding.fact or 'no fact'}" for finding in still_open)]
    more = "" if len(told) <= _MOST_TOLD else f"; and {counted(len(told) - _MOST_TOLD, 'more thing')}"
    return "; ".join(told[:_MOST_TOLD]) + more
