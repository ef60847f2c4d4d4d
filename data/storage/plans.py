"""Plans as they were given."""

from __future__ import annotations

from data.storage.statements import StatementStore
from data.storage.tables import PLANS
from pricing.records.plan import Plan


class PlanStore(StatementStore[Plan]):
    """The plans of a store."""

    kind = "plan"
    table = PLANS
    record = Plan
