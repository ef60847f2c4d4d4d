"""A Parquet file as columns of words, so that it goes through the checks of a text file.

Typed columns become words exactly: whole numbers and decimals digit by digit, floats as the shortest text that gives
the same float, days in ISO form, truth values as yes and no. Rows are counted from 1.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
from pyarrow import parquet

from data.importing.text_table import (
    GatheredColumns,
    TextTable,
    checked_header,
    no_rows,
    without_long_cells,
)
from pricing.errors import BadInput, NotFound, Problem, refused

_BATCH_ROWS = 65_536


def parquet_tables(path: Path, most: int) -> Iterator[TextTable]:
    """Yield a Parquet file as tables of ``most`` rows, the last of what is left.

    Raises:
        NotFound: There is no such file.
        BadInput: It is no Parquet file, is damaged, has columns of another kind than cells, or has no row.
    """
    with _opened(path) as file:
        header = checked_header(file.schema_arrow.names, path.name)
        _refuse_kinds(file.schema_arrow, path.name)
        typed = frozenset(
            name for name, field in zip(header, file.schema_arrow, strict=True) if _is_number(field.type)
        )
        if not file.metadata.num_rows:
            raise no_rows(path.name)
        first = 1
        for batches in _batched(file, most, path):
            gathered, rows = GatheredColumns(len(header)), sum(batch.num_rows for batch in batches)
            for batch in batches:
                _gather(batch, gathered)
            yield without_long_cells(TextTable(
                source=path.name,
                header=header,
                columns=dict(zip(header, gathered.columns(), strict=True)),
                line=np.arange(first, first + rows, dtype=np.int64),
                broken={},
                delimiter="",
                notices=(),
                typed=typed,
                numbered_by="row",
            ))  # fmt: skip
            first += rows


def _opened(path: Path) -> parquet.ParquetFile:
    try:
        return parquet.ParquetFile(path)
    except (FileNotFoundError, NotADirectoryError) as error:
        raise NotFound(f"there is no file {path}") from error
    except (pa.ArrowException, OSError) as error:
        raise _damaged(path, error) from error


def _damaged(path: Path, error: BaseException) -> BadInput:
    problem = Problem(path.name, None, None, f"no readable Parquet ({str(error).splitlines()[0]})", "a Parquet file")
    return BadInput(str(problem), (problem,))


def _batched(file: parquet.ParquetFile, most: int, path: Path) -> Iterator[list[pa.RecordBatch]]:
    """Yield batches that together have ``most`` rows, the last of what is left."""
    waiting: list[pa.RecordBatch] = []
    left = most
    try:
        for whole in file.iter_batches(batch_size=min(most, _BATCH_ROWS)):
            batch = whole
            while batch.num_rows >= left:
                yield [*waiting, batch.slice(0, left)]
                batch, waiting, left = batch.slice(left), [], most
            if batch.num_rows:
                waiting.append(batch)
                left -= batch.num_rows
    except (pa.ArrowException, OSError) as error:
        raise _damaged(path, error) from error
    if waiting:
        yield waiting


def _gather(batch: pa.RecordBatch, gathered: GatheredColumns) -> None:
    for place, column in enumerate(batch.columns):
        text = _text_of(column.type)
        if pa.types.is_null(column.type) or text is None:
            gathered.add_coded(place, np.zeros(len(column), dtype=np.int32), ("",))
            continue
        coded = column if pa.types.is_dictionary(column.type) else column.dictionary_encode()
        words = [*("" if value is None else text(value) for value in coded.dictionary.to_pylist()), ""]
        codes = coded.indices.fill_null(len(words) - 1).to_numpy(zero_copy_only=False)
        gathered.add_coded(place, codes.astype(np.int32), words)


def _refuse_kinds(schema: pa.Schema, source: str) -> None:
    problems = [
        Problem(source, None, field.name, f"a column of type {field.type}", "text, numbers, days or truth values")
        for field in schema
        if _text_of(field.type) is None
    ]
    if problems:
        raise refused(source, problems)


def _is_number(kind: pa.DataType) -> bool:
    types = pa.types
    return bool(types.is_integer(kind) or types.is_floating(kind) or types.is_decimal(kind))


def _text_of(kind: pa.DataType) -> Callable[[Any], str] | None:
    """Return what turns a value of this type into a word; None: no type of a cell."""
    types = pa.types
    if types.is_dictionary(kind):
        return _text_of(kind.value_type)
    texts: list[tuple[Callable[[pa.DataType], bool], Callable[[Any], str]]] = [
        (types.is_null, str),
        (types.is_string, str),
        (types.is_large_string, str),
        (types.is_integer, str),
        (types.is_floating, _float_text),
        (types.is_decimal, _decimal_text),
        (types.is_boolean, _truth_text),
        (types.is_date, date.isoformat),
        (types.is_timestamp, _moment_text),
    ]
    return next((text for fits, text in texts if fits(kind)), None)


def _float_text(value: float) -> str:
    return "" if np.isnan(value) else repr(float(value))


def _decimal_text(value: Decimal) -> str:
    return format(value, "f")


def _truth_text(value: bool) -> str:
    return "yes" if value else "no"


def _moment_text(value: datetime) -> str:
    """Return the day of a moment at midnight; any other keeps its time, which a check for a day then refuses."""
    midnight = value.tzinfo is None and value == datetime(value.year, value.month, value.day)  # noqa: DTZ001
    return value.date().isoformat() if midnight else value.isoformat()
