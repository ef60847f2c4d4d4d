"""The cell of a unit: what was seen of it, and the answers that say that it was handled."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from pricing.records.base import Record

CellLook = Literal[
    "not looked at", "nothing seen", "swollen", "dented", "punctured", "leaking", "hot", "smells",
]  # fmt: skip
CellMaker = Literal["original", "other", "not known"]
Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=80)]

HARMLESS: tuple[CellLook, ...] = ("not looked at", "nothing seen")


class Signed(Record):
    """An answer with the name of who gave it and the day: a tick is not a check."""

    answer: bool
    by: Name
    on: date


class CellHandling(Record):
    """What has to be answered before a doubtful cell counts as handled; None: not answered.

    Attributes:
        seen_flat: Taken out of the body and seen flat.
        sound: No dent, no smell, no leak.
        in_voltage_range: Its voltage lies in the maker's range.
        sits_free: Nothing presses on it where it lies.
        taken_out: Replaced or removed: then the other answers are about a cell that is gone.
    """

    seen_flat: Signed | None = None
    sound: Signed | None = None
    in_voltage_range: Signed | None = None
    sits_free: Signed | None = None
    taken_out: Signed | None = None

    @property
    def open_questions(self) -> tuple[str, ...]:
        """Names of the answers that are missing or are no; empty: the cell was handled."""
        if self.taken_out is not None and self.taken_out.answer:
            return ()
        answers = {name: getattr(self, name) for name in CHECKS}
        return tuple(name for name, signed in answers.items() if signed is None or not signed.answer)


CHECKS: tuple[str, ...] = ("seen_flat", "sound", "in_voltage_range", "sits_free")


class Cell(Record):
    """What is known of the cell beside its share of the design capacity.

    Attributes:
        look: What was seen of it.
        had_impact: The unit fell, was bent or crushed; None: not said.
        reported_share: Capacity in percent of design as the unit itself says, beside a measured one.
        cycles: Charge cycles as the unit reports them.
        message: Whether the unit shows a message about its cell; None: not said.
        maker: Whose cell it is; None: not said.
        handling: The answers that say that a doubtful cell was handled.
    """

    look: CellLook = "not looked at"
    had_impact: bool | None = None
    reported_share: Decimal | None = Field(default=None, ge=0, le=150)
    cycles: int | None = Field(default=None, ge=0, le=100_000)
    message: bool | None = None
    maker: CellMaker | None = None
    handling: CellHandling = CellHandling()

    @property
    def is_handled(self) -> bool:
        """Whether every answer was given with name and day, or the cell was replaced or removed."""
        return not self.handling.open_questions

    @property
    def is_dangerous(self) -> bool:
        """Whether the cell was seen to be damaged, and has not been replaced or removed since."""
        out = self.handling.taken_out
        return self.look not in HARMLESS and not (out is not None and out.answer)
