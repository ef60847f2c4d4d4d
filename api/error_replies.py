"""What each kind of error becomes: an exit code of the command, a status of the service. One table.

A kind that is not listed is found through its ancestors; what has none there is our own fault.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pricing.errors import (
    Abstained,
    BadInput,
    CannotFit,
    HeldBack,
    ListingRefused,
    NotFound,
    Problem,
    StaleVersion,
    UnsafeSetting,
)

WELL = 0
USAGE = 2
FOUND_SOMETHING = 3


@dataclass(frozen=True)
class Reply:
    """How an error is told.

    Attributes:
        exit_code: Of the command.
        status: HTTP status of the service.
        title: The kind in words, the same for every error of the kind.
        name: The kind in an address, for problem details.
    """

    exit_code: int
    status: int
    title: str
    name: str


OUR_FAULT = Reply(70, 500, "Our own fault", "our-fault")

REPLIES: Mapping[type[BaseException], Reply] = {
    BadInput: Reply(FOUND_SOMETHING, 422, "Something in the input is wrong", "bad-input"),
    NotFound: Reply(4, 404, "Not found", "not-found"),
    CannotFit: Reply(5, 409, "The sales do not allow a model", "cannot-fit"),
    Abstained: Reply(5, 422, "The model declines to price this", "abstained"),
    StaleVersion: Reply(FOUND_SOMETHING, 409, "Changed meanwhile", "stale-version"),
    HeldBack: Reply(FOUND_SOMETHING, 409, "This unit is held back", "held-back"),
    ListingRefused: Reply(FOUND_SOMETHING, 409, "This listing may not be written", "listing-refused"),
    UnsafeSetting: Reply(USAGE, 500, "A setting is refused", "unsafe-setting"),
}


def reply_to(kind: type[BaseException]) -> Reply:
    """Return the reply to an error of this kind, or of its nearest ancestor in the table."""
    return next((REPLIES[ancestor] for ancestor in kind.__mro__ if ancestor in REPLIES), OUR_FAULT)


def problems_of(error: BaseException) -> tuple[Problem, ...]:
    """Return what the error says is wrong, place by place; empty for most kinds."""
    return error.problems if isinstance(error, BadInput) else ()
