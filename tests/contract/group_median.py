"""The plainest price model: the median price of each brand, and the spread of prices round it.

It shares nothing with ours, so a contract that it passes asks nothing that only ours could know.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass

import numpy as np

from pricing.records.estimate import LEVELS
from pricing.records.sales_table import ConditionTable, FloatArray, SalesTable

GROUP = "brand"


@dataclass(frozen=True)
class GroupMedian:
    """A fitted baseline.

    Attributes:
        medians: Brand -> median price.
        overall: Median of all prices, for a brand that no sale had.
        ratios: Ends of the intervals over the median, low and high for each level.
    """

    medians: dict[str, float]
    overall: float
    ratios: list[float]

    def said(self, table: ConditionTable) -> FloatArray:
        """Return estimate and interval ends in money, shape (rows, 1 + 2 * levels)."""
        brands = [table.texts[GROUP].word(row) for row in range(table.rows)]
        middle = np.array([self.medians.get(brand or "", self.overall) for brand in brands])
        return middle[:, None] * np.array([1.0, *self.ratios])

    def text(self) -> str:
        """Return the model as JSON."""
        return json.dumps(asdict(self))


@dataclass(frozen=True)
class GroupMedianMaker:
    """Fits the baseline."""

    tolerance: float = 1e-9

    def fit(self, sales: SalesTable) -> GroupMedian:
        """Return the baseline of these sales."""
        column = sales.condition.texts[GROUP]
        medians = {
            level: float(np.median(sales.price[column.codes == code]))
            for code, level in enumerate(column.levels)
            if (column.codes == code).any()
        }
        middle = np.array([medians[column.word(row) or ""] for row in range(sales.rows)])
        tails = [share for level in LEVELS for share in (0.5 - level / 200, 0.5 + level / 200)]
        ratios = np.quantile(sales.price / middle, tails)
        return GroupMedian(medians, float(np.median(sales.price)), ratios.tolist())

    def read(self, text: str) -> GroupMedian:
        """Return the baseline that a text holds."""
        return GroupMedian(**json.loads(text))
