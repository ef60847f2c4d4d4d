"""A price sheet as Parquet: the units' own columns as text, amounts as numbers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import islice
from pathlib import Path

import pyarrow as pa
from pyarrow import parquet

from api.shop.files import whole_path
from api.shop.price_sheet import NUMBER_COLUMNS

_GROUP_ROWS = 50_000


def write_parquet_sheet(path: Path, header: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Write a price sheet as Parquet, whole or not at all, never holding more than one group of its rows.

    Args:
        path: Where to.
        header: Column names; those of amounts become float64, null where there is none.
        rows: Cells in the same order.

    Raises:
        BadInput: The place cannot be written.
    """
    amounts = [name in NUMBER_COLUMNS for name in header]
    kinds = [pa.float64() if amount else pa.string() for amount in amounts]
    schema = pa.schema(list(zip(header, kinds, strict=True)))
    waiting = iter(rows)
    with whole_path(path) as beside, parquet.ParquetWriter(beside, schema) as writer:
        while group := list(islice(waiting, _GROUP_ROWS)):
            columns = [
                pa.array([float(cell) if cell else None for cell in cells] if amount else cells, kind)
                for cells, amount, kind in zip(zip(*group, strict=True), amounts, kinds, strict=True)
            ]
            writer.write_table(pa.table(columns, schema=schema))
