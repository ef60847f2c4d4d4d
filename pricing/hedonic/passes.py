"""Passes over all rows, block by block, on several threads: numpy and scipy let go of the interpreter's lock."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

from pricing.hedonic.design import CHUNK_ROWS, Design
from pricing.hedonic.pieces import RawRows
from pricing.records.sales_table import BoolArray, ConditionTable

Result = TypeVar("Result")
_MOST_THREADS = 4


def in_turn(work: Callable[[slice], Result], rows: int, size: int = CHUNK_ROWS) -> Iterator[Result]:
    """Yield what ``work`` makes of each block of rows, in the order of the blocks.

    Blocks and their order depend on the rows alone, so sums over them are the same with any number of threads. No
    more blocks than threads are in work or wait to be fetched, so that memory does not grow with the rows.

    Args:
        work: Takes where a block lies; several threads call it at a time.
        rows: Number of rows.
        size: Rows of a block.
    """
    parts = [slice(start, min(start + size, rows)) for start in range(0, rows, size)]
    threads = 1 if len(parts) < 2 else min(_MOST_THREADS, os.cpu_count() or 1, len(parts))
    if threads == 1:
        yield from map(work, parts)
        return
    with ThreadPoolExecutor(threads) as pool:
        waiting: deque[Future[Result]] = deque()
        for part in parts:
            if len(waiting) == threads:
                yield waiting.popleft().result()
            waiting.append(pool.submit(work, part))
        while waiting:
            yield waiting.popleft().result()


def over_blocks(
    work: Callable[[slice, RawRows], Result],
    design: Design,
    table: ConditionTable,
    asked: BoolArray | None = None,
    size: int = CHUNK_ROWS,
) -> Iterator[Result]:
    """Yield what ``work`` makes of each block of raw rows; see ``in_turn``.

    Args:
        work: Takes where the block lies and its raw rows; several threads call it at a time.
        design: The columns.
        table: The rows.
        asked: shape (rows,), whether a price was only asked; None: no.
        size: Rows of a block.
    """
    read = design.reader(table, asked)
    return in_turn(lambda part: work(part, read(part)), table.rows, size)
