"""All that a design learns from sales: of each part of them, and added up.

What a design is does not depend on the parts or their order: counts add up exactly. Only the sum of logarithms may
differ in its last digit.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from pricing.hedonic.counts import (
    DayCounts,
    LevelCounts,
    NumberCounts,
    WordCounts,
    count_days,
    count_levels,
    count_numbers,
    count_words,
)
from pricing.hedonic.market_term import sold_for_parts
from pricing.records.device_class import Attribute, DeviceClass
from pricing.records.sales_table import FloatArray, SalesTable

CONTRACT_TEXTS = ("channel", "country", "price_includes_postage", "opened")
LevelPath = tuple[str, ...]


@dataclass(frozen=True)
class PriceSums:
    """Prices: the sum of their logarithms, the least and the greatest; the least above the greatest: no sale."""

    sum_log: float
    least: float
    greatest: float

    def plus(self, other: PriceSums) -> PriceSums:
        """Return the sums of both parts together."""
        least, greatest = min(self.least, other.least), max(self.greatest, other.greatest)
        return PriceSums(self.sum_log + other.sum_log, least, greatest)


@dataclass(frozen=True, eq=False)
class SalesSummary:
    """What a design learns from a part of the sales.

    Attributes:
        rows: Sales.
        asked: Sales whose price was only asked.
        for_parts: Sales for parts.
        prices: Their prices, in the base currency.
        numbers: Column -> distinct values with counts.
        levels: Path of columns from the outermost parent inwards -> counts of combinations.
        faults, marks, locks, parts: Thing -> counts of its states.
        days: Days of sale.
    """

    rows: int
    asked: int
    for_parts: int
    prices: PriceSums
    numbers: Mapping[str, NumberCounts]
    levels: Mapping[LevelPath, LevelCounts]
    faults: Mapping[str, WordCounts]
    marks: Mapping[str, WordCounts]
    locks: Mapping[str, WordCounts]
    parts: Mapping[str, WordCounts]
    days: DayCounts

    @property
    def mean_log(self) -> float:
        """Mean of the logarithm of price, not a number without sales."""
        return self.prices.sum_log / self.rows if self.rows else float("nan")

    def plus(self, other: SalesSummary) -> SalesSummary:
        """Return the summary of both parts together, which have the same columns.

        Raises:
            ValueError: They have not.
        """
        added: dict[str, Any] = {}
        for item in fields(self):
            left, right = getattr(self, item.name), getattr(other, item.name)
            if isinstance(left, int):
                added[item.name] = left + right
            elif not isinstance(left, Mapping):
                added[item.name] = left.plus(right)
            elif left.keys() == right.keys():
                added[item.name] = {name: value.plus(right[name]) for name, value in left.items()}
            else:
                raise ValueError(f"parts of the same sales must have the same columns of {item.name}")
        return SalesSummary(**added)


def summarise(
    sales: SalesTable, device_class: DeviceClass, pairs: Sequence[LevelPath] = ()
) -> SalesSummary:
    """Return the summary of some sales.

    Args:
        sales: Any part of the sales.
        device_class: Says which columns are nested in which.
        pairs: More combinations of columns to be counted, besides those of the attributes.
    """
    table = sales.condition
    paths = [path_of(each, device_class) for each in device_class.attributes if each.kind != "number"]
    paths += [(name,) for name in CONTRACT_TEXTS if name in table.texts]
    return SalesSummary(
        rows=sales.rows,
        asked=int(np.count_nonzero(sales.asked)),
        for_parts=int(np.count_nonzero(sold_for_parts(table))),
        prices=_price_sums(sales.price),
        numbers={name: count_numbers(values) for name, values in table.numbers.items()},
        levels={path: count_levels(path, table) for path in (*paths, *pairs)},
        faults=count_words(table.faults),
        marks=count_words(table.marks),
        locks=count_words(table.locks),
        parts=count_words(table.parts),
        days=count_days(table.sold_on, table.rows),
    )


def _price_sums(price: FloatArray) -> PriceSums:
    if not len(price):
        return PriceSums(0.0, float("inf"), 0.0)
    return PriceSums(float(np.log(price).sum()), float(price.min()), float(price.max()))


def path_of(attribute: Attribute, device_class: DeviceClass) -> LevelPath:
    """Return the names from the outermost parent to the attribute itself."""
    path = [attribute.name]
    parent = attribute.within
    while parent is not None:
        path.insert(0, parent)
        parent = device_class.attributes_by_name[parent].within
    return tuple(path)
