"""Whether a price was only asked, and whether the unit went for its parts."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from pricing.hedonic.blocks import UNPENALISED, BlockBuilder
from pricing.hedonic.pieces import Piece, Reader, nothing
from pricing.records.sales_table import BoolArray, ConditionTable


@dataclass(frozen=True, eq=False)
class MarketTerm:
    """Dense columns: asked (when some prices were asked and some paid), sold for parts (when some were).

    Attributes:
        asked, parts: Whether the column is there.
    """

    asked: bool
    parts: bool
    name: str = "market"

    @property
    def dense_columns(self) -> int:
        """Number of dense columns."""
        return int(self.asked) + int(self.parts)

    @property
    def hot_columns(self) -> int:
        """Number of one-hot columns."""
        return 0

    @property
    def unseen_depths(self) -> int:
        """Depths at which a level may be unseen."""
        return 0

    def piece(self, table: ConditionTable, asked: BoolArray | None) -> Piece:
        """Return the columns; a unit to be priced is not asked."""
        return self.reader(table, asked)(slice(0, table.rows))

    def reader(self, table: ConditionTable, asked: BoolArray | None) -> Reader:
        """Return what reads blocks of the table's rows."""
        columns: list[BoolArray] = []
        if self.asked:
            columns.append(np.zeros(table.rows, dtype=np.bool_) if asked is None else asked)
        if self.parts:
            columns.append(sold_for_parts(table))

        def read(part: slice) -> Piece:
            """Return the columns of some rows."""
            bare = nothing(part.stop - part.start)
            if not columns:
                return bare
            return replace(bare, dense=np.array([column[part] for column in columns], dtype=np.float64).T)

        return read

    def describe(self, builder: BlockBuilder, dense_at: int, _hot_at: int) -> None:
        """Add free coefficients."""
        names = [*(["asked"] if self.asked else []), *(["sold for parts"] if self.parts else [])]
        for number, name in enumerate(names):
            builder.add_coefficient(name, UNPENALISED, [dense_at + number], [1.0])


def sold_for_parts(table: ConditionTable) -> BoolArray:
    """Return which rows were sold for parts, shape (rows,)."""
    if table.sold_as is None or "parts" not in table.sold_as.levels:
        return np.zeros(table.rows, dtype=np.bool_)
    return np.asarray(table.sold_as.codes == table.sold_as.levels.index("parts"), dtype=np.bool_)
