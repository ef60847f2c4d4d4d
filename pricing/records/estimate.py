"""What the price model says of one unit: an estimate, a what-if, an explanation."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Literal

from pricing.records.base import Record
from pricing.records.money import Money

Support = Literal["seen", "thin", "unseen"]
LEVELS = (50, 80, 90, 95)


class Interval(Record):
    """The range that holds the price in ``level`` percent of like cases."""

    level: int
    low: Money
    high: Money


class Estimate(Record):
    """What a unit is worth.

    Attributes:
        estimate: The median price, in the base currency; None when abstained.
        expected: The mean price, used wherever money is averaged.
        intervals: At 50, 80, 90 and 95 percent.
        support: seen, thin (the fewest sales of a group it belongs to are 1 to 4) or unseen.
        on: The day it is for; None when the sales were not dated.
        calibrated: False when there were too few sales to check the intervals.
        of_asking_price: True when the model saw only asking prices.
        reasons: What makes it less sure, in plain words.
        abstained: Why no figure is given; None when one is.
        model: Fingerprint of the model.
    """

    estimate: Money | None
    expected: Money | None
    intervals: tuple[Interval, ...] = ()
    support: Support
    on: date | None = None
    calibrated: bool = True
    of_asking_price: bool = False
    reasons: tuple[str, ...] = ()
    abstained: str | None = None
    model: str


class WhatIf(Record):
    """How an estimate changes with the unit.

    Attributes:
        before, after: Estimates of the unit as it is and as changed.
        change: after less before.
        percent: change as percent of before.
        low_95, high_95: Interval of the change in money, not of the price.
        reasons: What makes it less sure ("no sale had this").
    """

    before: Money
    after: Money
    change: Money
    percent: Decimal
    low_95: Money
    high_95: Money
    reasons: tuple[str, ...] = ()


class Contribution(Record):
    """How much one thing moves the price, from the reference unit towards this one.

    Attributes:
        name: Attribute or condition ("storage_gb", "fault:camera_wide").
        value: What this unit has there, in words.
        money: Signed amount.
    """

    name: str
    value: str
    money: Money


class NearestSale(Record):
    """A sale like this unit.

    Attributes:
        price: As sold, in the base currency.
        sold_on: Day of the sale.
        line: Its line in the sales file, or its number in the store.
        differs: In what it differs, in words.
    """

    price: Money
    sold_on: date | None
    line: int | None
    differs: tuple[str, ...]


class Explanation(Record):
    """Contributions that rebuild the estimate to the last minor unit.

    Attributes:
        reference: Estimate of the class's typical unit.
        contributions: In a fixed order; reference plus their sum is the estimate.
        estimate: The unit's estimate.
        nearest: The most similar sales.
    """

    reference: Money
    contributions: tuple[Contribution, ...]
    estimate: Money
    nearest: tuple[NearestSale, ...] = ()
