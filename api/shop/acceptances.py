"""What buyers accept of published listings, line by line, in the checkout, by message or on paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

from api.shop.channels import channel_called
from api.shop.publications import PublishedListing, published_listing, standing_listing
from api.shop.shop import Shop
from api.shop.stating import stated
from data.storage.acceptances import StoredAcceptance
from data.storage.page import Page
from listing_templates.deviations import deviation_message, render_form
from listing_templates.sheet_rules import UNION
from pricing.errors import BadInput, ListingRefused, Problem, shortened
from pricing.records.acceptance import Acceptance, AnsweredLine, DeviationWay
from pricing.records.publication import Deviation

KeptAcceptance: TypeAlias = StoredAcceptance

_CANNOT: dict[DeviationWay, str] = {
    "checkout": "",
    "message": "takes no answer to each line: send the message, and wait for the answer before you take payment",
    "sheet": "is a sale in person: print the sheet, and let the buyer mark each line before payment",
}


@dataclass(frozen=True)
class DeviationLines:
    """The lines of a published listing that a buyer accepts one by one.

    Attributes:
        number: The listing's number.
        language, title: Of the listing.
        text_digest: SHA-256 of the published text; an answer names it.
        lines: Every line.
        way: Where the channel lets buyers answer.
        cannot: What to do where the channel's checkout takes no answers; "" where it does.
        message: What to send to the buyer then; "" where it is not needed.
    """

    number: int
    language: str
    title: str
    text_digest: str
    lines: tuple[Deviation, ...]
    way: DeviationWay
    cannot: str
    message: str


def deviation_lines(shop: Shop, number: int) -> DeviationLines:
    """Return the lines of a published listing.

    Raises:
        NotFound: No listing has this number, or its channel is gone.
        ListingRefused: It is not published now, or stale.
    """
    found = standing_listing(shop, number)
    way, cannot = _way(shop, found)
    published = found.publication
    return DeviationLines(
        number=number,
        language=published.listing.language,
        title=published.listing.title,
        text_digest=published.text_digest,
        lines=published.deviations,
        way=way,
        cannot=cannot if published.deviations else "",
        message=deviation_message(published, _country(shop)) if cannot else "",
    )


def deviation_form(shop: Shop, number: int, *, buyer: str | None = None, whole: bool = True) -> str:
    """Return the form for the shop's checkout, no box ticked, as a page or only the form itself.

    Raises:
        NotFound: No listing has this number, or its channel is gone.
        ListingRefused: It is not published now, or stale, or its channel takes no such answers.
    """
    found = standing_listing(shop, number)
    _refuse_other_way(shop, found, "checkout")
    return render_form(found.publication, _country(shop), buyer=buyer or "", whole=whole)


def answered_form(shop: Shop, kept: StoredAcceptance) -> str:
    """Return the page that a buyer sees after an answer: what is accepted, or what is still open.

    Raises:
        NotFound: The listing is gone.
    """
    published = published_listing(shop, kept.listing_number).publication
    accepted = [line.number for line in kept.acceptance.lines if line.accepted]
    return render_form(published, _country(shop), buyer=kept.acceptance.buyer, accepted=accepted)


def accept(
    shop: Shop, number: int, *, buyer: str, text_digest: str, lines: Sequence[int], way: DeviationWay
) -> StoredAcceptance:
    """Keep a buyer's answer: the numbers of the lines that they accept. Only all lines together count.

    Raises:
        NotFound: No listing has this number, or its channel is gone.
        BadInput: The digest is that of another text, there is no such line, or ``buyer`` is no reference.
        ListingRefused: It is not published now, or stale, or its channel takes no answers in a checkout.
    """
    found = standing_listing(shop, number)
    published = found.publication
    if way == "checkout":
        _refuse_other_way(shop, found, way)
    if text_digest != published.text_digest:
        raise _bad("text_digest", text_digest, f"{published.text_digest}, as the lines name it")
    known = [line.number for line in published.deviations]
    for place in lines:
        if place not in known:
            expected = f"numbers of lines, 1 to {len(known)}" if known else "no number: there is no line"
            raise _bad("lines", str(place), expected)
    answered = tuple(
        AnsweredLine(number=line.number, text=line.text, accepted=line.number in lines)
        for line in published.deviations
    )
    given = {"buyer": buyer, "way": way, "text_digest": text_digest, "lines": answered}
    answer = stated(Acceptance, "answer", given)
    with shop.store.writing(shop.now()) as work:
        return work.acceptances.add(number, answer)


def list_acceptances(
    shop: Shop, number: int, *, buyer: str | None = None, limit: int, offset: int
) -> Page[StoredAcceptance]:
    """Return the answers to a listing, the latest first, all or of one buyer; ``limit`` 0 means all.

    Raises:
        NotFound: No listing has this number.
    """
    with shop.store.reading() as work:
        work.listings.get(number)
        return work.acceptances.page(number, buyer=buyer, limit=limit, offset=offset)


def _way(shop: Shop, found: PublishedListing) -> tuple[DeviationWay, str]:
    """Return where the listing's channel lets buyers answer, and what to do where its checkout does not."""
    name = found.publication.channel
    if name is None:
        return "checkout", ""
    channel = channel_called(shop, name)
    cannot = _CANNOT[channel.deviations]
    return channel.deviations, f"{channel.title} {cannot}" if cannot else ""


def _refuse_other_way(shop: Shop, found: PublishedListing, wanted: DeviationWay) -> None:
    """Let pass the way in which the listing's channel takes answers.

    Raises:
        ListingRefused: It takes them in another way; the message says in which.
    """
    way, cannot = _way(shop, found)
    if way != wanted:
        raise ListingRefused(cannot)


def _country(shop: Shop) -> str:
    return shop.settings.country or UNION


def _bad(column: str, found: str, expected: str) -> BadInput:
    problem = Problem("request", None, column, shortened(found), expected)
    return BadInput(str(problem), (problem,))
