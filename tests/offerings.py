"""Offerings for tests, and the demand law whose best prices have a closed form."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pricing.decisions.asking import Offering
from pricing.decisions.waiting_law import assumed_law
from pricing.records.waiting import WaitingAssumption


@dataclass(frozen=True)
class ExponentialDemand:
    """Buyers come at a rate of ``rate * exp(-steepness * ask)`` a day, however long the unit has stood."""

    rate: float
    steepness: float

    def a_day(self, asks):
        return self.rate * np.exp(-self.steepness * np.asarray(asks, dtype=float))

    def cumulative(self, asks, days):
        return self.a_day(asks) * days

    def mean_days(self, asks, patience):
        return -np.expm1(-self.a_day(asks) * patience) / self.a_day(asks)


def whole(asks):
    """A sale leaves all that was asked."""
    return np.asarray(asks, dtype=float)


def less_fees(asks):
    return 0.88 * np.asarray(asks, dtype=float) - 6


def demand(rate, steepness, *, holding=0.0, patience=np.inf, fallback=0.0):
    return Offering(ExponentialDemand(rate, steepness), whole, "EUR", holding, patience, fallback)


def unit_offering(*, estimate=200.0, holding=0.5, patience=60.0, fallback=90.0, net_of=less_fees, **assumed):
    law = assumed_law(WaitingAssumption(**assumed))
    return Offering(law.for_unit(estimate), net_of, "EUR", holding, patience, fallback)
