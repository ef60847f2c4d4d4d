"""The model card: what a price model was learnt from, how far it was off, what it found, and where it ends."""

from __future__ import annotations

from datetime import date
from typing import Literal

from pydantic import Field

from pricing.records.base import Record
from pricing.records.money import Money

EffectKind = Literal["faults", "marks", "locks", "parts", "number", "choice", "group", "market", "time"]


class CardEffect(Record):
    """What one thing does to the price, other things equal.

    Attributes:
        kind: What sort of thing it is; the effects of a kind are shown together.
        name: Attribute or thing ("camera_wide"), shared by its states or values.
        label: The thing in words ("ultra-wide camera removed", "storage 512 GB").
        percent: Change of the price in percent, -100 or more.
        low_95, high_95: 95 % interval of ``percent``.
        price: The class's typical unit with it; None where that says nothing.
        sales: Sales behind it, 0: no sale had this; None: all sales are.
    """

    kind: EffectKind
    name: str
    label: str
    percent: float
    low_95: float
    high_95: float
    price: Money | None = None
    sales: int | None = None


class CoverageRow(Record):
    """How often held-out intervals held the price, for some of the sales.

    Attributes:
        label: Which sales ("all", "thin", "estimates up to 80.00 EUR").
        sales: Number of them.
        within: Level of the interval in percent -> share of the sales within it, in percent.
    """

    label: str
    sales: int
    within: dict[int, float]


class CardGroup(Record):
    """The levels of a group or choice.

    Attributes:
        name, title: Attribute, and what people call it.
        levels: Levels that sales had, "not stated" included.
        thin: Levels with 1 to 4 sales.
        fewest, most: Sales of the rarest and of the commonest level.
    """

    name: str
    title: str
    levels: int
    thin: int
    fewest: int
    most: int


class CardRange(Record):
    """The range of a number in the sales, in its own unit; the model is not for units outside it."""

    name: str
    title: str
    unit: str
    low: float
    high: float


class ErrorSize(Record):
    """How far held-out estimates were off, in percent.

    Attributes:
        sales: Number of prices paid that were held out.
        median: Half of the estimates were off by less than this, in percent of the price.
        low_80, high_80: In 80 of 100 sales the price lay between these, in percent of the estimate.
    """

    sales: int
    median: float
    low_80: float
    high_80: float


class ModelCard(Record):
    """What there is to know of a price model before using it.

    Attributes:
        device_class, title: The class's name, and what people call it.
        fingerprint: Of the model.
        on: The day that units are priced for by default; None: the sales are not dated.
        currency: Of all money, "" when the sales name none.
        rows: Sales that were fitted.
        sold, asked: Of them, prices paid and prices only asked.
        refunded: Sales left out because they were undone; None when the sales are not at hand.
        undated: Fitted sales without a day; None when the sales are not at hand.
        first_sale, last_sale: Days of the first and the last sale.
        of_asking_price: Whether every price was only asked.
        blanks: Attribute -> share of the sales that do not state it, in percent; empty without the sales.
        groups: The levels of groups and choices.
        ranges: The numbers' ranges.
        calibrated: Level of the interval in percent -> whether held-out prices set it (else Student t).
        error: Size of the error; None when the sales are not at hand.
        coverage: Held-out coverage: all, by support, by thirds of the estimate.
        effects: What moves the price, in the order in which it is shown.
        structure: The parts that the model has, in words.
        notices: What else the user should know.
        invented: Whether the sales are of the demo's invented goods.
    """

    device_class: str
    title: str
    fingerprint: str
    on: date | None
    currency: str
    rows: int
    sold: int
    asked: int
    refunded: int | None = None
    undated: int | None = None
    first_sale: date | None = None
    last_sale: date | None = None
    of_asking_price: bool = False
    blanks: dict[str, float] = Field(default_factory=dict)
    groups: tuple[CardGroup, ...] = ()
    ranges: tuple[CardRange, ...] = ()
    calibrated: dict[int, bool] = Field(default_factory=dict)
    error: ErrorSize | None = None
    coverage: tuple[CoverageRow, ...] = ()
    effects: tuple[CardEffect, ...] = ()
    structure: tuple[str, ...] = ()
    notices: tuple[str, ...] = ()
    invented: bool = False
