"""Estimates as they were given."""

from __future__ import annotations

from data.storage.statements import StatementStore
from data.storage.tables import ESTIMATES
from pricing.records.estimate import Estimate


class EstimateStore(StatementStore[Estimate]):
    """The estimates of a store."""

    kind = "estimate"
    table = ESTIMATES
    record = Estimate
