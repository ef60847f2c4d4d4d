"""What a buyer accepted, line by line, before the contract. A reference names the buyer, never a name."""

from __future__ import annotations

from typing import Annotated, Literal, get_args

from pydantic import Field

from pricing.records.base import Record

# A digit must be in it: an order has a number, a person has a name.
BuyerReference = Annotated[str, Field(max_length=64, pattern=r"^[A-Za-z0-9._/-]*[0-9][A-Za-z0-9._/-]*$")]
DeviationWay = Literal["checkout", "message", "sheet"]
DEVIATION_WAYS: tuple[DeviationWay, ...] = get_args(DeviationWay)


class AnsweredLine(Record):
    """One deviation as it was shown, and whether the buyer accepted it."""

    number: Annotated[int, Field(ge=1)]
    text: str
    accepted: bool


class Acceptance(Record):
    """A buyer's answer to all lines of a published listing.

    Attributes:
        buyer: Number of the order or the like; no name.
        way: Where it was given: in the checkout, by message, or on a sheet of paper.
        text_digest: SHA-256 of the published text whose lines were shown.
        lines: Every line, accepted or not.
    """

    buyer: BuyerReference
    way: DeviationWay
    text_digest: Annotated[str, Field(pattern="^[0-9a-f]{64}$")]
    lines: tuple[AnsweredLine, ...]

    @property
    def complete(self) -> bool:
        """Whether every line was accepted: nothing less counts."""
        return all(line.accepted for line in self.lines)
