"""Sales in parts: all that a fit asks of sales that may lie in one table, in many files or on many machines.

A part is a ``SalesTable``. All parts have the same columns and the same currency; refunded sales are in none of them.
Sums are taken part by part in a fixed binary tree, so they are the same each time, and on every engine equal but for
the last digits of floats.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Protocol, Self, TypeVar

import numpy as np

from pricing.hedonic.ranks import drawn_by_rank, rank_keys
from pricing.records.sales_table import SalesTable

PART_ROWS = 65_536


class Addable(Protocol):
    """A result of one part that adds up."""

    def plus(self, other: Self, /) -> Self:
        """Return the result of both parts together."""


Sum = TypeVar("Sum", bound=Addable)


class SalesParts(Protocol):
    """Sales of one class in one currency, in parts; none of them refunded."""

    @property
    def rows(self) -> int:
        """Number of sales in all parts."""

    @property
    def currency(self) -> str:
        """ISO 4217 code of the base currency, "" when nothing names one."""

    def sample(self, most: int, seed: int) -> SalesTable:
        """Return at most ``most`` sales in the order of their ranks by price, then day, then numbers.

        Of more sales than that, one is drawn from each of ``most`` equal runs of ranks; so neither the order of rows
        nor that of the parts changes anything, but among sales alike in all of these.
        """

    def total(self, function: Callable[..., Sum], *arguments: object) -> Sum:
        """Return the sum of ``function(part, *arguments)`` over all parts.

        Raises:
            ValueError: There is no part.
        """


class LocalParts:
    """One table as parts of 65,536 neighbouring sales."""

    def __init__(self, sales: SalesTable, part_rows: int = PART_ROWS) -> None:
        self._sales = without_refunded(sales)
        self._part_rows = part_rows

    @property
    def rows(self) -> int:
        """Number of sales."""
        return self._sales.rows

    @property
    def currency(self) -> str:
        """Currency of the table."""
        return self._sales.currency

    def sample(self, most: int, seed: int) -> SalesTable:
        """Return at most ``most`` sales in the order of their ranks; see ``SalesParts``."""
        return self._sales.take(drawn_by_rank(rank_keys(self._sales), most, seed))

    def total(self, function: Callable[..., Sum], *arguments: object) -> Sum:
        """Return the sum of ``function(part, *arguments)`` over all parts.

        Raises:
            ValueError: There is no sale.
        """
        return tree_sum(function(part, *arguments) for part in self.parts())

    def parts(self) -> Iterator[SalesTable]:
        """Yield the parts in the order of their rows."""
        for start in range(0, self.rows, self._part_rows):
            yield self._sales.take(np.arange(start, min(start + self._part_rows, self.rows)))


def without_refunded(sales: SalesTable) -> SalesTable:
    """Return the sales that stood."""
    return sales.take(np.flatnonzero(~sales.refunded)) if sales.refunded.any() else sales


def tree_sum(results: Iterable[Sum]) -> Sum:
    """Return the sum of results in a fixed binary tree, holding no more of them than the tree is high.

    Neighbours are added in pairs, then neighbouring pairs, and so on; what has no neighbour is added last, from the
    right.

    Raises:
        ValueError: There is no result.
    """
    waiting: list[tuple[int, Sum]] = []
    for result in results:
        height, total = 0, result
        while waiting and waiting[-1][0] == height:
            total = waiting.pop()[1].plus(total)
            height += 1
        waiting.append((height, total))
    if not waiting:
        raise ValueError("no part to add up")
    total = waiting.pop()[1]
    while waiting:
        total = waiting.pop()[1].plus(total)
    return total
