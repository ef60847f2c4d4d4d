"""What was said of a unit and kept: the two kinds there are."""

from __future__ import annotations

from typing import TypeAlias

from data.storage.statements import Statement
from pricing.records.estimate import Estimate
from pricing.records.listing import Listing

EstimateStatement: TypeAlias = Statement[Estimate]
ListingStatement: TypeAlias = Statement[Listing]
