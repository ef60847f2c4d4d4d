"""Sales in files, each read, checked and kept by a worker of a Dask cluster.

To the caller travel only what is known of the files, the columns that rank sales (8 bytes each), the sales of a sample
and sums. Scheduler and workers must be one's own: whoever can reach them can run anything on them. Workers read the
files by their paths, so they must see the same folders.
"""

from __future__ import annotations

import asyncio
import logging
import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
from distributed import Client, Future, KilledWorker, LocalCluster
from distributed.comm import CommClosedError
from distributed.core import rpc
from numpy.typing import NDArray

from data.importing.comparables_csv import read_sales
from data.importing.rates import Rates
from data.importing.sales_files import Agreement, FileOutline, agreement, outline, refused_outline
from pricing.errors import BadInput, NotFound, PlainsaleError
from pricing.hedonic.parts import LocalParts, Sum, without_refunded
from pricing.hedonic.ranks import drawn_by_rank, rank_keys
from pricing.records.device_class import DeviceClass
from pricing.records.joined_sales import joined
from pricing.records.sales_table import SalesTable

SECONDS_TO_ANSWER = 10


@dataclass(frozen=True, eq=False)
class PartsReading:
    """Files of sales, read by workers.

    Attributes:
        parts: Their good rows; refunded sales are left out.
        agreement: What is known of the files beside their rows.
    """

    parts: DaskParts
    agreement: Agreement


class DaskParts:
    """Sales of one class and currency, each part kept by a worker; see ``pricing.hedonic.parts.SalesParts``."""

    def __init__(self, client: Client, tables: Sequence[Future], rows: Sequence[int], currency: str) -> None:
        kept = [(table, count) for table, count in zip(tables, rows, strict=True) if count]
        self._client = client
        self._tables = [table for table, _ in kept]
        self._starts = np.cumsum([0, *(count for _, count in kept)])
        self._currency = currency

    @property
    def rows(self) -> int:
        """Number of sales."""
        return int(self._starts[-1])

    @property
    def currency(self) -> str:
        """Currency of all parts."""
        return self._currency

    def sample(self, most: int, seed: int) -> SalesTable:
        """Return at most ``most`` sales in the order of their ranks; see ``SalesParts``.

        Raises:
            ValueError: There is no sale.
            PlainsaleError: A worker was lost.
        """
        if not self._tables:
            raise ValueError("no sales to draw from")
        keys = _gathered(self._client, self._client.map(rank_keys, self._tables, pure=False))
        chosen = drawn_by_rank(np.concatenate(keys, axis=1), most, seed)
        part_of = np.searchsorted(self._starts, chosen, side="right") - 1
        places = [np.flatnonzero(part_of == part) for part in range(len(self._tables))]
        taken = [
            self._client.submit(_rows_of, table, chosen[mine] - start, pure=False)
            for table, mine, start in zip(self._tables, places, self._starts[:-1], strict=True)
        ]
        drawn = joined(_gathered(self._client, taken))
        return drawn.take(np.argsort(np.concatenate(places), kind="stable"))

    def total(self, function: Callable[..., Sum], *arguments: object) -> Sum:
        """Return the sum of ``function(part, *arguments)`` over all parts, added up by the workers.

        Raises:
            ValueError: There is no sale.
            PlainsaleError: A worker was lost.
        """
        if not self._tables:
            raise ValueError("no part to add up")
        # Sent once to every worker: a design is large, and a part is one of many.
        given = self._client.scatter(_Arguments(arguments), broadcast=True, hash=False)
        sums = [self._client.submit(_part_total, table, function, given, pure=False) for table in self._tables]
        while len(sums) > 1:
            pairs = [sums[place : place + 2] for place in range(0, len(sums), 2)]
            sums = [
                self._client.submit(_plus, *pair, pure=False) if len(pair) == 2 else pair[0] for pair in pairs
            ]
        total: Sum = _gathered(self._client, sums)[0]
        return total


@dataclass(frozen=True, eq=False)
class _Arguments:
    """Arguments as one thing, which scattering does not take apart."""

    values: tuple[object, ...]


@dataclass(frozen=True, eq=False)
class _FileReading:
    """A file as a worker holds it: its good sales, None when it cannot be used, and what is known beside them."""

    table: SalesTable | None
    outline: FileOutline


@contextmanager
def dask_client(address: str | None, files: int) -> Iterator[Client]:
    """Connect to a scheduler, or start processes on this machine that end with the block.

    Args:
        address: Of a running scheduler, such as tcp://host:8786; None: workers of our own, on loopback only.
        files: Number of parts; more workers than that would have nothing to do.

    Raises:
        BadInput: The address is none.
        NotFound: No scheduler answers there within 10 seconds.
    """
    if address is not None:
        with _connected(address) as client:
            yield client
        return
    workers = max(1, min(files, os.cpu_count() or 1))
    with (
        LocalCluster(
            n_workers=workers,
            threads_per_worker=1,
            processes=True,
            host="127.0.0.1",
            dashboard_address="127.0.0.1:0",
            scheduler_kwargs={"dashboard": False},
            silence_logs=logging.ERROR,
        ) as cluster,
        Client(cluster) as client,
    ):
        yield client


def _connected(address: str) -> Client:
    # Asked first without a client: one that fails to connect leaves tracebacks behind.
    try:
        kind = asyncio.run(asyncio.wait_for(_kind_at(address), SECONDS_TO_ANSWER))
    except OSError as error:
        told = f"no scheduler answers at {address} within {SECONDS_TO_ANSWER} seconds"
        raise NotFound(f"{told}; start one with dask scheduler, or leave out --scheduler") from error
    except ValueError as error:
        raise BadInput(f"--scheduler {address}: found no address; expected one like tcp://127.0.0.1:8786") from error
    except MemoryError:
        kind = "something else"
    if kind != "Scheduler":
        raise BadInput(f"--scheduler {address}: found {kind}; expected a Dask scheduler")
    return Client(address, timeout=SECONDS_TO_ANSWER)


async def _kind_at(address: str) -> str:
    """Return what answers at an address: "Scheduler", "Worker" or another."""
    async with rpc(address, timeout=SECONDS_TO_ANSWER) as other:
        identity = await other.identity()
    return str(identity.get("type", "something else"))


def read_parts(
    client: Client,
    paths: Sequence[Path],
    device_class: DeviceClass,
    *,
    base: str | None,
    today: date,
    rates: Rates | None = None,
) -> PartsReading:
    """Read files of sales on the workers, with the checks of ``read_sales_files``.

    Raises:
        NotFound: A file is not there, for a worker.
        BadInput: A file as a whole cannot be used, or they are in several currencies and no base is given.
        PlainsaleError: A worker was lost.
    """
    readings = [
        client.submit(_read, path.resolve(), device_class, base, today, rates, pure=False) for path in paths
    ]
    outlines: list[FileOutline] = _gathered(client, client.map(_outline_of, readings, pure=False))
    found = agreement(outlines, device_class)
    tables = [client.submit(_conformed, reading, found.columns, pure=False) for reading in readings]
    rows = _gathered(client, client.map(_count, tables, pure=False))
    return PartsReading(DaskParts(client, tables, rows, found.columns.currency), found)


def _gathered(client: Client, futures: Sequence[Future]) -> list:  # type: ignore[type-arg]
    try:
        return list(client.gather(list(futures)))
    except (KilledWorker, CommClosedError) as error:
        raise PlainsaleError(
            "a worker was lost, most often for want of memory; split the files into smaller ones"
        ) from error


def _read(
    path: Path, device_class: DeviceClass, base: str | None, today: date, rates: Rates | None
) -> _FileReading:
    try:
        reading = read_sales(path, device_class, base=base, today=today, rates=rates)
    except (BadInput, NotFound) as error:
        return _FileReading(None, refused_outline(error, path.name, device_class))
    return _FileReading(reading.table, outline(reading, path.name))


def _outline_of(reading: _FileReading) -> FileOutline:
    return reading.outline


def _conformed(reading: _FileReading, columns: SalesTable) -> SalesTable:
    """Return the sales with the columns of all files."""
    table = columns if reading.table is None else joined([columns, reading.table])
    return without_refunded(table)


def _count(table: SalesTable) -> int:
    return table.rows


def _rows_of(table: SalesTable, rows: NDArray[np.intp]) -> SalesTable:
    return table.take(rows)


def _part_total(table: SalesTable, function: Callable[..., Sum], given: _Arguments) -> Sum:
    return LocalParts(table).total(function, *given.values)


def _plus(left: Sum, right: Sum) -> Sum:
    return left.plus(right)
