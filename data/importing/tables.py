"""Files of rows in any form that is read: delimited text, or Parquet by the ending of its name."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from importlib import import_module
from pathlib import Path

from data.importing.text_table import TextTable, text_tables
from pricing.errors import NotFound

PARQUET_ENDINGS = (".parquet", ".pq")


def read_table(path: Path) -> TextTable:
    """Read a whole file; see ``read_tables``.

    Raises:
        NotFound: There is no such file, or what reads Parquet is not installed.
        BadInput: The file as a whole cannot be used.
    """
    return next(read_tables(path, sys.maxsize))


def read_tables(path: Path, most: int) -> Iterator[TextTable]:
    """Yield a file as tables of ``most`` rows, the last of what is left.

    Raises:
        NotFound: There is no such file, or what reads Parquet is not installed.
        BadInput: The file as a whole cannot be used.
    """
    if is_parquet(path):
        yield from _parquet_reader()(path, most)
    else:
        yield from text_tables(path, most)


def is_parquet(path: Path) -> bool:
    """Return whether a file is Parquet by its name."""
    return path.suffix.lower() in PARQUET_ENDINGS


def _parquet_reader() -> Callable[[Path, int], Iterator[TextTable]]:
    # Loaded by name, because pyarrow is only there with the extra "scale".
    try:
        module = import_module("data.importing.parquet_table")
    except ImportError as error:
        raise NotFound("Parquet needs pyarrow, which is not installed: pip install plainsale[scale]") from error
    reader: Callable[[Path, int], Iterator[TextTable]] = module.parquet_tables
    return reader
