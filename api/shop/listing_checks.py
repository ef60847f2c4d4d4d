"""Checks of kept listings: the text read against the facts, soft findings answered, the text in public read back.

A check asks everything anew: the unit as it is in the store now, the shop's terms, the limits of the channel. What it
finds is kept with the listing. Publishing repeats it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from api.shop.channels import channel_called
from api.shop.kept_listings import KeptListing, add_step, get_kept
from api.shop.listings import render_of
from api.shop.photos import ShotList, missing_photos, photos_of
from api.shop.shop import Shop
from api.shop.stating import stated
from api.shop.terms import terms_of_shop
from data.storage.digest import digest_of_text
from listing_templates.honesty import read_text
from listing_templates.honesty.linked import as_linked_data
from listing_templates.honesty.visible import has_tags, without_markup
from listing_templates.identity import masked
from listing_templates.kept_facts import kept_facts
from listing_templates.terms import terms_findings
from pricing.errors import BadInput, ListingRefused, Problem, counted
from pricing.records.channel import Channel
from pricing.records.finding import Finding
from pricing.records.listing_step import Checked, FindingAnswer, RaisedFinding, ReadBack, Sameness, answer_to
from pricing.records.stops import publishing_stops

_MOST_SAID = 500
_MOST_LINES = 50


@dataclass(frozen=True)
class ListingRead:
    """A text that was read where it was published.

    Attributes:
        kept: The listing, the reading in its history.
        same: How the text compares with what was published.
        findings: What is wrong with it against the facts as they are now.
        lost: Lines of the published text that it does not show, at most 50.
        added: Lines that it shows beside them, at most 50.
    """

    kept: KeptListing
    same: Sameness
    findings: tuple[Finding, ...]
    lost: tuple[str, ...]
    added: tuple[str, ...]


def check_listing(shop: Shop, number: int) -> KeptListing:
    """Read the text that counts against the unit as it is now, and keep what was found.

    Raises:
        NotFound: No listing has this number, or its channel is gone.
        ListingRefused: It is published, sold or withdrawn.
    """
    return add_step(shop, number, lambda kept: check_of(shop, kept))


def answer_finding(shop: Shop, number: int, place: int, *, reason: str, by: str) -> KeptListing:
    """Answer a soft finding of the last check, keep the reason, and check again.

    ``place`` counts the findings of that check from 1. The answer holds as long as words and fact stay as they are.

    Raises:
        NotFound: No listing has this number.
        BadInput: The last check has no such finding, or the reason says nothing.
        ListingRefused: The finding is hard, or the listing is published, sold or withdrawn.
    """

    given = {"reason": reason, "by": by}
    add_step(shop, number, lambda kept: _answer(_raised(last_check(kept), place), place, given))
    return check_listing(shop, number)


def read_back(shop: Shop, number: int, text: str) -> ListingRead:
    """Compare a text that was read where the listing stands with what was published, and keep how it compared.

    Raises:
        NotFound: No listing has this number.
        ListingRefused: Nothing was published.
    """
    before = get_kept(shop, number)
    found = read_text(text, before.unit, before.device_class, language=before.written.said.language)
    same = sameness(before.text, text)
    step = ReadBack(text_digest=digest_of_text(text), same=same, findings=len(found))
    kept = add_step(shop, number, lambda _: step)
    published, read = _lines(kept.text), _lines(text)
    lost = tuple(line for line in published if line not in " ".join(read))
    added = () if same != "changed" else tuple(line for line in read if line not in " ".join(published))
    return ListingRead(kept, same, found, lost[:_MOST_LINES], added[:_MOST_LINES])


def check_of(shop: Shop, kept: KeptListing) -> Checked:
    """Return what a check of the listing finds now; nothing is kept.

    Raises:
        NotFound: Its channel is gone.
    """
    said = kept.written.said
    channel = None if said.channel is None else channel_called(shop, said.channel)
    facts = {fact.key: fact.digest for fact in kept_facts(kept.unit, kept.device_class)}
    photos = photos_of_kept(shop, kept)
    findings = (
        *read_text(kept.text, kept.unit, kept.device_class, language=said.language),
        *terms_findings(
            terms_of_shop(shop.settings),
            said.language,
            shop.today,
            at_a_distance=channel is None or channel.deviations != "sheet",
        ),
        *(() if photos is None else missing_photos(shop, photos)),
    )
    raised = [
        RaisedFinding(
            finding=finding,
            said=_said(kept.text, finding),
            fact_digest=facts.get(finding.fact),
        )
        for finding in findings
    ]
    return Checked(
        text_digest=kept.text_digest,
        unit_version=None if kept.stored is None else kept.stored.version,
        findings=tuple(each.model_copy(update={"answer": answer_to(each, kept.done)}) for each in raised),
        stops=(*_stops(shop, kept, channel), *_picture_stops(kept, photos)),
    )


def photos_of_kept(shop: Shop, kept: KeptListing) -> ShotList | None:
    """Return the photos of a kept listing's unit as it is now; None: the unit is not in the store."""
    number = None if kept.stored is None else kept.stored.unit.number
    return None if number is None else photos_of(shop, number, kept.unit, kept.device_class)


def last_check(kept: KeptListing) -> Checked | None:
    """Return the last check of a listing; None: it was never checked."""
    return next((step for step in reversed(kept.done) if isinstance(step, Checked)), None)


def sameness(published: str, read: str) -> Sameness:
    """Return how a text that was read compares with the one that was published, as a reader sees both."""
    if published == read:
        return "the same"
    ours, theirs = _as_seen(published), _as_seen(read)
    if ours == theirs or _squeezed(published) == _squeezed(read):
        return "the same as seen"
    return "inside a longer text" if ours and ours in theirs else "changed"


def _stops(shop: Shop, kept: KeptListing, channel: Channel | None) -> Iterator[str]:
    """Yield what forbids publishing whatever the text says."""
    for stop in publishing_stops(kept.unit, kept.device_class):
        yield stop.reason + (f" What lifts this: {stop.lifted_by}." if stop.lifted_by else "")
    if kept.stored is None:
        yield "the unit is not in the store: import it, so that a later change of its facts shows"
    try:
        ours = render_of(shop, kept.written.said, kept.unit, kept.device_class, channel)
    except ListingRefused as refusal:
        yield str(refusal)
        return
    ask = kept.unit.ask
    if kept.text == kept.written.said.body and ask is not None and ours.price != kept.written.said.price:
        yield f"the text asks another price than the unit's ask, {ask.amount} {ask.currency}: write the listing anew"
    limit = None if channel is None else channel.body_limit
    if channel is not None and limit is not None:
        linked = as_linked_data(kept.text) if kept.written.said.format == "json-ld" else None
        length = len(kept.text if linked is None else linked.text.removesuffix("\n"))
        if length > limit:
            yield f"the text has {counted(length, 'character')}; {channel.name} takes {limit:,}"


def _picture_stops(kept: KeptListing, photos: ShotList | None) -> Iterator[str]:
    """Yield that the text shows or names photos that the unit has no more, or that are no longer true."""
    current = set() if photos is None else {photo.digest for photo in photos.current}
    gone = [digest for digest in kept.written.said.photos if digest not in current]
    as_written = kept.text == kept.written.said.body
    if gone and (as_written or "data:image/" in kept.text or any(digest in kept.text for digest in gone)):
        told = counted(len(gone), "photo")
        yield f"the text shows {told} that the unit no longer has, or that was taken before: write the listing anew"


def _said(text: str, finding: Finding) -> str:
    said = text[finding.start : finding.end][:_MOST_SAID]
    # What shows an identity must not show it a second time.
    return masked(said) if finding.kind == "identity shown" else said


def _answer(raised: RaisedFinding, place: int, given: Mapping[str, str]) -> FindingAnswer:
    """Return the answer to a finding.

    Raises:
        ListingRefused: It is hard.
        BadInput: The reason or who gives it says nothing.
    """
    if raised.finding.hard:
        told = f"{raised.finding.kind}: {raised.finding.fact or 'no fact'}"
        raise ListingRefused(f"finding {place} ({told}) cannot be answered: mend the text or the record")
    about = {"kind": raised.finding.kind, "fact": raised.finding.fact, "said": raised.said}
    return stated(FindingAnswer, "answer", {**about, "fact_digest": raised.fact_digest, **given})


def _raised(check: Checked | None, place: int) -> RaisedFinding:
    """Return a finding of a check by its place, from 1.

    Raises:
        BadInput: There is none at this place.
    """
    count = 0 if check is None else len(check.findings)
    if check is None or not 1 <= place <= count:
        expected = f"1 to {count}, as the last check counts them" if count else "a check that found something"
        problem = Problem("request", None, "finding", str(place), expected)
        raise BadInput(str(problem), (problem,))
    return check.findings[place - 1]


def _as_seen(text: str) -> str:
    return _squeezed(without_markup(text).text if has_tags(text) else text)


def _squeezed(text: str) -> str:
    return " ".join(text.split())


def _lines(text: str) -> tuple[str, ...]:
    seen = without_markup(text).text if has_tags(text) else text
    lines = (re.sub(r"^(?:#+|[-*•])\s+", "", _squeezed(line)) for line in seen.splitlines())
    return tuple(dict.fromkeys(line for line in lines if line))
