"""What to do with all units on the shelf: which gives parts to which, and which jobs to do in a week."""

from __future__ import annotations

from pricing.records.base import Record
from pricing.records.money import Money
from pricing.records.plan import Plan


class UnitPlan(Record):
    """The plan of one unit on the shelf; ``refused`` says why there is none."""

    number: str
    plan: Plan | None = None
    refused: str | None = None


class Donation(Record):
    """One unit mended with parts of another; ``gain`` over the best plans of both alone."""

    taker: str
    giver: str
    parts: tuple[str, ...]
    gain: Money
    plan: Plan


class WeekJob(Record):
    """A job of the week.

    Attributes:
        number: The unit.
        with_parts_of: Number of its donor; None: none.
        gain: Expected, net.
        hours: Expected, at the bench.
        per_hour: Gain per bench hour; None: it takes no time.
        chosen: Whether it fits into the week.
    """

    number: str
    with_parts_of: str | None
    gain: Money
    hours: float
    per_hour: Money | None
    chosen: bool


class ShelfPlan(Record):
    """All units together.

    Attributes:
        units: Each unit's own plan.
        donations: The best set of pairs.
        jobs: All that have a gain, the best per bench hour first.
        hours: Of the week; None: not limited.
        gain: Of the chosen jobs.
    """

    units: tuple[UnitPlan, ...]
    donations: tuple[Donation, ...]
    jobs: tuple[WeekJob, ...]
    hours: float | None
    gain: Money
