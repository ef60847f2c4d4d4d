"""What to ask for a unit: the whole curve of asks, the best of them, and how to step down when nobody comes."""

from __future__ import annotations

from typing import Literal

from pricing.records.base import Record
from pricing.records.money import Money

SHOWN_DAYS = (7, 14, 30, 60)


class SaleChance(Record):
    """The chance of a sale by a day.

    Attributes:
        days: Since listing.
        chance: Of a sale by then.
        low_95, high_95: Its interval from what the listings teach; None where the law is assumed.
    """

    days: int
    chance: float
    low_95: float | None = None
    high_95: float | None = None


class AskPoint(Record):
    """What is to be expected of one ask that is kept.

    Attributes:
        ask: The price asked.
        chances: Of a sale by 7, 14, 30 and 60 days.
        mean_days: Until sold or given up.
        net: What a sale leaves, after bargaining as far as sales tell it.
        expected: Expected net less the cost of holding; with the fallback where it does not sell in time.
    """

    ask: Money
    chances: tuple[SaleChance, ...]
    mean_days: float
    net: Money
    expected: Money


class PriceStep(Record):
    """An ask from one day on.

    Attributes:
        from_day: Days since listing.
        ask: What to ask from then on.
        reached: Chance that the unit still stands then.
    """

    from_day: float
    ask: Money
    reached: float


class WaitingBasis(Record):
    """What the time to sell rests on.

    Attributes:
        kind: The listings taught it; or they taught all but the steepness; or all of it is assumed.
        listings, sold: Listings with a known start and ask, and how many of them sold.
        median_days: Days in which half sell of what is offered at its estimate.
        steepness: By how many percent the days grow for one percent more asked.
        steepness_low, steepness_high: Its 95 percent interval; None where it is assumed.
        shape: 1: each day has the same chance; below 1 it falls while the unit stands.
        words: The same in a sentence that every output shows.
    """

    kind: Literal["listings", "listings, steepness assumed", "assumed"]
    listings: int
    sold: int
    median_days: float
    steepness: float
    steepness_low: float | None
    steepness_high: float | None
    shape: float
    words: str


class AskAdvice(Record):
    """What to ask.

    Attributes:
        estimate: What the unit is worth.
        best: The ask with the highest expected net less the cost of holding.
        curve: Other asks, ascending.
        steps: Asks that come down on days given, from the same cost and patience.
        steps_expected: What those steps are expected to leave.
        holding_per_day: Cost of holding it a day.
        patience: Days after which it is given up.
        fallback: What it leaves then.
        basis: What the time to sell rests on.
        assumes: What else was taken to be so.
    """

    estimate: Money
    best: AskPoint
    curve: tuple[AskPoint, ...]
    steps: tuple[PriceStep, ...]
    steps_expected: Money
    holding_per_day: Money
    patience: int
    fallback: Money
    basis: WaitingBasis
    assumes: tuple[str, ...]
