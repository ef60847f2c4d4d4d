"""What was said of a unit and kept: the kinds there are."""

from __future__ import annotations

from typing import TypeAlias

from data.storage.statements import Statement
from pricing.records.estimate import Estimate
from pricing.records.listing import Listing
from pricing.records.plan import Plan

EstimateStatement: TypeAlias = Statement[Estimate]
ListingStatement: TypeAlias = Statement[Listing]
PlanStatement: TypeAlias = Statement[Plan]
