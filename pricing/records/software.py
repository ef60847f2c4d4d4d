"""The system on a unit: its version, how long it gets security updates, and what was changed in it."""

from __future__ import annotations

from datetime import date
from typing import Literal

from pricing.records.base import Record

SystemState = Literal["as made", "replaced", "boot lock opened"]


class Software(Record):
    """The system on a unit.

    Attributes:
        version: As the unit shows it.
        updates_until: Last day of the month to which the maker promises security updates; may have passed.
        state: As made, replaced by another system, or with its boot lock opened; None: not said.
        language: The language it is set to.
        licence: Whether a licence for it goes with the unit; None: not said, or none is needed.
    """

    version: str | None = None
    updates_until: date | None = None
    state: SystemState | None = None
    language: str | None = None
    licence: bool | None = None
