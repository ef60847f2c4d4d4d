"""What the service takes and gives about listings, where a record alone does not say it."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from api.routes.shapes import AboutUnit, Shape
from api.shop.kept_listings import KeptListing
from api.shop.publications import PublishedListing
from pricing.records.acceptance import Acceptance, BuyerReference, DeviationWay
from pricing.records.finding import Finding
from pricing.records.listing import Format, Listing
from pricing.records.listing_step import ListingState, RaisedFinding, Reason, Sameness, Text, WholeText
from pricing.records.money import Money
from pricing.records.publication import Deviation, Digest, FactChange, KeptFact, Person
from pricing.records.unit import Unit

Lines = Annotated[tuple[int, ...], Field(max_length=2_000)]


class NewListing(AboutUnit):
    """The wish to have a listing.

    Attributes:
        format: How it is written.
        language: Tag of its language.
        price_from_model: With the estimate as price when there is no ask.
        channel: Name of the channel whose limits it keeps; what is left off for them stands in ``left_off``.
    """

    format: Format = "text"
    language: str = "en"
    price_from_model: bool = False
    channel: str | None = None


class TextToCheck(Shape):
    """A text to be read against a unit.

    Attributes:
        text: The text: plain, Markdown, HTML or linked data.
        unit, unit_number: The unit itself, or the number of a stored one.
        language: Tag of the text's language.
        answer: It is an answer to a buyer: what it does not say is no finding.
    """

    text: WholeText
    unit: Unit | None = None
    unit_number: str | None = None
    language: str = "en"
    answer: bool = False


class FindingsShape(Shape):
    """What a text leaves out or gets wrong; nothing when all is well."""

    findings: tuple[Finding, ...]


class ListingShape(Shape):
    """A kept listing as it stands now.

    Attributes:
        number, unit_number, at, digest: Of the listing as it was written; the digest is over unit and listing.
        listing: As it was written.
        state: draft, checked, published, sold or withdrawn.
        text, text_digest: The text that counts, the seller's edits in it, and its SHA-256.
        stale: It stands in public although facts have changed.
        changed: Facts that are not as they were when it was published, or written when it is a draft.
        intact: Nothing of it was changed behind the program's back.
    """

    number: int
    unit_number: str | None
    at: str
    digest: str
    listing: Listing
    state: ListingState
    text: str
    text_digest: str
    stale: bool
    changed: tuple[FactChange, ...]
    intact: bool


class EditedText(Shape):
    """The seller's text, in place of ours."""

    text: Text


class CheckShape(Shape):
    """What the last check found, and cautions to be heeded; ``passed``: nothing stands against publishing."""

    number: int
    state: ListingState
    passed: bool
    text_digest: str
    unit_version: int | None
    findings: tuple[RaisedFinding, ...]
    stops: tuple[str, ...]
    cautions: tuple[str, ...]


class FindingAnswered(Shape):
    """A reason for a soft finding of the last check, counted from 1."""

    finding: int
    reason: Reason
    by: Person


class Confirmation(Shape):
    """Who confirms that a text is true, and which: its SHA-256, or the first 8 characters of it or more."""

    confirmed_by: Person
    text_digest: str


class PublicationShape(Shape):
    """What was published.

    Attributes:
        number: The listing's number.
        state, stale, changed, intact: How it stands now.
        at: When it was published.
        digest: SHA-256 over all of it and everything before it in the listing's history.
        text, text_digest, title, language, format, price, channel: What stands in public, and where.
        facts, unit_version: The facts then.
        deviations: The lines that a buyer accepts one by one.
        photos: SHA-256 of each photo.
        confirmed_by, program: Who confirmed it, and which version of the program checked it.
    """

    number: int
    state: ListingState
    stale: bool
    changed: tuple[FactChange, ...]
    intact: bool
    at: str
    digest: str
    text: str
    text_digest: str
    title: str
    language: str
    format: Format
    price: Money | None
    channel: str | None
    facts: tuple[KeptFact, ...]
    unit_version: int
    deviations: tuple[Deviation, ...]
    photos: tuple[str, ...]
    confirmed_by: str
    program: str


class TextReadBack(Shape):
    """A text as it was read where the listing stands."""

    text: Text


class ReadBackShape(Shape):
    """How the text compares with what was published, and what is wrong with it."""

    number: int
    same: Sameness
    findings: tuple[Finding, ...]
    lost: tuple[str, ...]
    added: tuple[str, ...]


class SaleOfListing(Shape):
    """That the unit was sold; ``buyer``: the reference under which lines were accepted, never a name."""

    by: Person
    buyer: BuyerReference | None = None


class SoldShape(Shape):
    """A listing after the sale, and what the seller should know."""

    listing: ListingShape
    notices: tuple[str, ...]


class Withdrawal(Shape):
    """Why a listing is given up, or taken down."""

    reason: Reason
    by: Person


class StepShape(Shape):
    """One step of a listing's life; ``what``: its details, of a publication without unit and text."""

    number: int
    did: str
    state: ListingState
    at: str
    digest: str
    intact: bool
    what: dict[str, Any]


class ReasonShape(Shape):
    """A sentence of a listing and the facts that it rests on, each with its origin."""

    sentence: str
    because: tuple[str, ...]


class DeviationsShape(Shape):
    """The lines that a buyer accepts one by one before the contract.

    Attributes:
        number, language, title: Of the listing.
        text_digest: SHA-256 of the published text; an answer names it.
        lines: Every line; none is accepted beforehand.
        way: Where the channel lets buyers answer: checkout, message or sheet.
        cannot: What to do where the checkout takes no answers; "" where it does.
        message: What to send to the buyer then.
    """

    number: int
    language: str
    title: str
    text_digest: str
    lines: tuple[Deviation, ...]
    way: DeviationWay
    cannot: str
    message: str


class NewAcceptance(Shape):
    """A buyer's answer: the numbers of the lines that they accept, for the text with this digest."""

    buyer: BuyerReference
    text_digest: Digest
    lines: Lines
    way: DeviationWay = "checkout"


class FormAcceptance(Shape):
    """The same answer as the form sends it: a ticked box is one ``line``."""

    buyer: BuyerReference
    text_digest: Digest
    line: Lines = ()


class AcceptanceShape(Shape):
    """A buyer's answer as it is kept; ``complete``: every line is accepted, and nothing less counts."""

    number: int
    listing_number: int
    at: str
    digest: str
    intact: bool
    complete: bool
    acceptance: Acceptance


def listing_shape(kept: KeptListing) -> ListingShape:
    """Return a kept listing as the service gives it."""
    return ListingShape(
        number=kept.number,
        unit_number=kept.written.unit.number,
        at=kept.written.at,
        digest=kept.written.digest,
        listing=kept.written.said,
        state=kept.state,
        text=kept.text,
        text_digest=kept.text_digest,
        stale=kept.stale,
        changed=kept.changed,
        intact=kept.intact,
    )


def publication_shape(published: PublishedListing) -> PublicationShape:
    """Return a publication as the service gives it."""
    kept, said = published.kept, published.publication
    step = next(stored for stored in kept.steps if stored.step.did == "published")
    return PublicationShape(
        number=kept.number,
        state=kept.state,
        stale=kept.stale,
        changed=kept.changed,
        intact=kept.intact,
        at=step.at,
        digest=step.digest,
        text=said.listing.body,
        text_digest=said.text_digest,
        title=said.listing.title,
        language=said.listing.language,
        format=said.listing.format,
        price=said.listing.price,
        channel=said.channel,
        facts=said.facts,
        unit_version=said.unit_version,
        deviations=said.deviations,
        photos=said.photos,
        confirmed_by=said.confirmed_by,
        program=said.program,
    )


def step_shapes(kept: KeptListing) -> tuple[StepShape, ...]:
    """Return the history of a listing as the service gives it: texts and units stand in their own places."""
    return tuple(
        StepShape(
            number=stored.number,
            did=stored.step.did,
            state=stored.state,
            at=stored.at,
            digest=stored.digest,
            intact=stored.intact,
            what=stored.step.model_dump(mode="json", exclude={"did": True, "publication": {"unit", "listing"}}),
        )
        for stored in kept.steps
    )
