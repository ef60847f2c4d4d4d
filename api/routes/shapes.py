"""What the service takes and gives, where a record alone does not say it."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Generic, TypeVar

from fastapi import Query
from pydantic import BaseModel, ConfigDict, Field

from pricing.records.estimate import Estimate
from pricing.records.plan import Plan
from pricing.records.unit import Unit

Item = TypeVar("Item")

Limit = Annotated[int, Query(ge=1, le=500, description="Most items in the reply.")]
Offset = Annotated[int, Query(ge=0, description="How many items to leave out before the first.")]


class Shape(BaseModel):
    """The frozen base of all shapes; a key that is not known is refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", from_attributes=True)


class PageShape(Shape, Generic[Item]):
    """Some items of a list.

    Attributes:
        items: At most ``limit`` of them.
        total: How many there are in all.
        offset: How many come before the first of these.
    """

    items: tuple[Item, ...]
    total: int
    offset: int


class ProblemShape(Shape):
    """One thing that is wrong in a request: where, what was found, what was expected."""

    source: str
    line: int | None
    column: str | None
    found: str
    expected: str


class ProblemDetails(Shape):
    """An error in the form of RFC 9457, with every single problem.

    Attributes:
        type: Names the kind of error.
        title: The kind in words.
        status: The HTTP status again.
        detail: What happened this time.
        instance: The path that was asked for.
        problems: What was wrong, place by place.
    """

    type: str
    title: str
    status: int
    detail: str
    instance: str
    problems: tuple[ProblemShape, ...] = ()


class Health(Shape):
    """That the service answers, and which version it is."""

    status: str
    version: str


class NewSales(Shape):
    """Sales to be stored, each as columns like those of a sales file.

    Attributes:
        device_class: Name of the class.
        rows: One object for each sale; the names are the columns of a sales file.
        base: Currency to turn all prices into.
        keep_good: Store the good rows although others are bad.
    """

    device_class: str
    rows: tuple[dict[str, str | int | float | None], ...] = Field(max_length=20_000)
    base: str | None = None
    keep_good: bool = False


class SalesKept(Shape):
    """What was stored of the sales sent."""

    batch: int
    rows: int
    rows_read: int
    new: bool
    currency: str
    problems: tuple[ProblemShape, ...]
    notices: tuple[str, ...]


class SaleShape(Shape):
    """A stored sale; ``stated`` holds its columns."""

    number: int
    batch: int
    price: float
    sold_on: str | None
    stated: dict[str, Any]


class NewModel(Shape):
    """The wish to fit a model to the stored sales of a class."""

    device_class: str
    on: date | None = None
    seed: int = Field(default=0, ge=0, le=2**32 - 1)


class ModelShape(Shape):
    """What is known of a stored model."""

    fingerprint: str
    device_class: str
    currency: str
    rows: int
    at: str


class FittedModel(Shape):
    """A model that was just fitted and stored."""

    fingerprint: str
    device_class: str
    currency: str
    rows: int
    on: date | None
    of_asking_price: bool
    notices: tuple[str, ...]


class UnitShape(Shape):
    """A stored unit at one version."""

    unit: Unit
    version: int
    at: str


class AboutUnit(Shape):
    """A unit, given whole or by the number that it has in the store, and the model to be asked.

    Attributes:
        unit: The unit itself.
        unit_number: Number of a stored unit; one of the two is needed.
        model: Fingerprint of the model; the latest of the unit's class by default.
        on: Day to price for.
    """

    unit: Unit | None = None
    unit_number: str | None = None
    model: str | None = None
    on: date | None = None


class NewEstimate(AboutUnit):
    """The wish to have a unit priced; ``always``: even where the model would decline."""

    always: bool = False


class NewWhatIf(AboutUnit):
    """The wish to know what changes do, all of them together ("function:NAME=works")."""

    changes: tuple[str, ...] = Field(min_length=1, max_length=100)


class PlanShape(Shape):
    """A plan as it was given and kept."""

    number: int
    unit_number: str | None
    at: str
    digest: str
    plan: Plan


class EstimateShape(Shape):
    """An estimate as it was given and kept."""

    number: int
    unit_number: str | None
    at: str
    digest: str
    estimate: Estimate
