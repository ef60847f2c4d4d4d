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


class StockUse(Record):
    """One piece of the stock in one unit.

    Attributes:
        number: The unit.
        part, line: The part, and its row in the stock.
        cost: What the piece cost: what the unit's ledger is asked to carry.
        given_up: What the shop gives up with it, which the plan counts.
        gain: Over the unit's plan without it.
    """

    number: str
    part: str
    line: int | None = None
    cost: Money
    given_up: Money
    gain: Money


class WeekJob(Record):
    """A job of the week.

    Attributes:
        number: The unit.
        with_parts_of: Number of its donor; None: none.
        from_stock: Parts that it takes from the stock.
        gain: Expected, net.
        hours: Expected, at the bench.
        per_hour: Gain per bench hour; None: it takes no time.
        chosen: Whether it fits into the week.
    """

    number: str
    with_parts_of: str | None
    from_stock: tuple[str, ...] = ()
    gain: Money
    hours: float
    per_hour: Money | None
    chosen: bool


class ShelfPlan(Record):
    """All units together.

    Attributes:
        units: Each unit's own plan, with what it takes from the stock.
        stock_uses: Which piece of the stock goes into which unit.
        donations: The best set of pairs.
        jobs: All that have a gain, the best per bench hour first.
        hours: Of the week; None: not limited.
        gain: Of the chosen jobs.
    """

    units: tuple[UnitPlan, ...]
    stock_uses: tuple[StockUse, ...] = ()
    donations: tuple[Donation, ...]
    jobs: tuple[WeekJob, ...]
    hours: float | None
    gain: Money
