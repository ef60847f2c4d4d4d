"""What is believed of the time to sell where the shop has too few listings to learn it."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from pricing.records.base import Record


class WaitingAssumption(Record):
    """How long goods of a class wait for a buyer. The defaults are common practice, no source.

    Attributes:
        median_days: Days in which half of the units sell that are offered at their estimate.
        steepness: By how many percent the days grow for one percent more asked.
        shape: 1: each day has the same chance of a sale; below 1 it falls while the unit stands, above 1 it rises.
    """

    median_days: Annotated[float, Field(gt=0, le=3650)] = 14.0
    steepness: Annotated[float, Field(gt=0, le=50)] = 6.0
    shape: Annotated[float, Field(ge=0.2, le=5)] = 1.0
