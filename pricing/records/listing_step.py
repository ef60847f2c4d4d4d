"""The life of a kept listing as steps that are only ever added: draft, checked, published, sold or withdrawn.

Each step says what was done. The state follows from all of them: a listing without a step is a draft; an edit makes
it a draft again; a check that lets nothing stand open makes it checked.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Annotated, Literal, TypeAlias

from pydantic import AfterValidator, Field

from pricing.errors import ListingRefused
from pricing.records.acceptance import BuyerReference
from pricing.records.base import Record
from pricing.records.finding import Finding, FindingKind
from pricing.records.publication import Digest, Person, Publication

ListingState = Literal["draft", "checked", "published", "sold", "withdrawn"]
Sameness = Literal["the same", "the same as seen", "inside a longer text", "changed"]

MOST_SIGNS = 200_000
_MOST_SIGNS_WITH_PICTURES = 8_000_000
_PICTURE = re.compile(r"data:image/[a-z]+;base64,[A-Za-z0-9+/=]*")


def _bounded(text: str) -> str:
    if len(text) > MOST_SIGNS and len(_PICTURE.sub("", text)) > MOST_SIGNS:
        raise ValueError(f"a text of at most {MOST_SIGNS:,} characters, pictures in it not counted")
    return text


# A page with its photos in it is long, and no more to read for that.
WholeText = Annotated[str, Field(max_length=_MOST_SIGNS_WITH_PICTURES), AfterValidator(_bounded)]
Text = Annotated[WholeText, Field(min_length=1)]
Reason = Annotated[str, Field(min_length=3, max_length=500, pattern=r"\S")]


class Edited(Record):
    """The seller put another text in place of ours."""

    did: Literal["edited"] = "edited"
    text: Text


class FindingAnswer(Record):
    """Why a soft finding may stand.

    Attributes:
        did: Always "answered".
        kind, fact: Of the finding.
        said: The words of the text that it is about; "" where something is missing.
        fact_digest: Digest of the fact at that time; None: no fact. When the fact changes, the answer no longer holds.
        reason: The seller's reason, kept.
        by: Who gives it.
    """

    did: Literal["answered"] = "answered"
    kind: FindingKind
    fact: str
    said: str
    fact_digest: Digest | None
    reason: Reason
    by: Person


class RaisedFinding(Record):
    """A finding of a check, the words it is about, and the reason that answers it, if any."""

    finding: Finding
    said: str
    fact_digest: Digest | None
    answer: str | None = None

    @property
    def stands_open(self) -> bool:
        """Whether it stops publishing: it is hard, or nobody has answered it."""
        return self.finding.hard or self.answer is None


class Checked(Record):
    """A text was read against the unit's facts.

    Attributes:
        did: Always "checked".
        text_digest: SHA-256 of the text that was read.
        unit_version: Version of the unit whose facts it was read against; None: the unit is not in the store.
        findings: All that was found.
        stops: What else forbids publishing, in words.
    """

    did: Literal["checked"] = "checked"
    text_digest: Digest
    unit_version: int | None
    findings: tuple[RaisedFinding, ...] = ()
    stops: tuple[str, ...] = ()

    @property
    def passed(self) -> bool:
        """Whether nothing stands against publishing."""
        return not self.stops and not any(raised.stands_open for raised in self.findings)


class Published(Record):
    """The text was confirmed and published."""

    did: Literal["published"] = "published"
    publication: Publication


class ReadBack(Record):
    """The text was read where it was published.

    Attributes:
        did: Always "read back".
        text_digest: SHA-256 of what was read there.
        same: How it compares with what was published.
        findings: How many things are wrong with it.
    """

    did: Literal["read back"] = "read back"
    text_digest: Digest
    same: Sameness
    findings: Annotated[int, Field(ge=0)]


class Sold(Record):
    """The unit was sold from this listing; ``buyer`` is the reference under which lines were accepted."""

    did: Literal["sold"] = "sold"
    buyer: BuyerReference | None = None
    by: Person


class Withdrawn(Record):
    """The listing was given up or taken down."""

    did: Literal["withdrawn"] = "withdrawn"
    reason: Reason
    by: Person


ListingStep: TypeAlias = Edited | FindingAnswer | Checked | Published | ReadBack | Sold | Withdrawn
Did = Literal["edited", "answered", "checked", "published", "read back", "sold", "withdrawn"]

_FROM: dict[Did, tuple[ListingState, ...]] = {
    "edited": ("draft", "checked"),
    "answered": ("draft", "checked"),
    "checked": ("draft", "checked"),
    "published": ("checked",),
    "read back": ("published", "sold", "withdrawn"),
    "sold": ("published",),
    "withdrawn": ("draft", "checked", "published"),
}


def state_after(state: ListingState, step: ListingStep) -> ListingState:
    """Return the state that a step leaves."""
    if isinstance(step, Checked):
        return "checked" if step.passed else "draft"
    if isinstance(step, Edited):
        return "draft"
    if isinstance(step, FindingAnswer | ReadBack):
        return state
    return step.did


def state_of(steps: Iterable[ListingStep]) -> ListingState:
    """Return the state that all steps together leave."""
    state: ListingState = "draft"
    for step in steps:
        state = state_after(state, step)
    return state


def check_may(did: Did, state: ListingState, number: int) -> None:
    """Let pass a step that is possible in this state.

    Raises:
        ListingRefused: It is not; the message says from which states it is.
    """
    if state not in _FROM[did]:
        wanted = " or ".join(_FROM[did])
        raise ListingRefused(f"listing {number} is {state}; to be {did} it must be {wanted}")


def text_after(written: str, steps: Iterable[ListingStep]) -> str:
    """Return the text that counts: the last edit, else the one that was written."""
    text = written
    for step in steps:
        if isinstance(step, Edited):
            text = step.text
    return text


def publication_in(steps: Iterable[ListingStep]) -> Publication | None:
    """Return what was published, if anything was."""
    return next((step.publication for step in steps if isinstance(step, Published)), None)


def answer_to(raised: RaisedFinding, steps: Sequence[ListingStep]) -> str | None:
    """Return the latest reason given for the same words and the same fact; None for a hard finding."""
    if raised.finding.hard:
        return None
    asked = (raised.finding.kind, raised.finding.fact, raised.said, raised.fact_digest)
    given = [
        step.reason
        for step in steps
        if isinstance(step, FindingAnswer) and (step.kind, step.fact, step.said, step.fact_digest) == asked
    ]
    return given[-1] if given else None
