"""Comparables: reading sales, and keeping them in the store."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory

from api.shop.files import matching_files
from api.shop.shop import Shop
from data.importing.comparables_csv import SalesReading
from data.importing.rates import TableRates
from data.importing.rates_csv import read_rates_csv
from data.importing.sales_files import read_sales_files
from data.storage.comparables import Batch, StoredSale
from data.storage.page import Page
from pricing.errors import BadInput, Problem, counted
from pricing.records.device_class import DeviceClass

Row = Mapping[str, str | int | float | None]


@dataclass(frozen=True)
class SalesImport:
    """What an import of sales did.

    Attributes:
        batch: What was kept.
        rows_read: Sales in the file, good or bad.
        problems: What was wrong, place by place; those rows were left out.
        notices: What else the reader should know.
    """

    batch: Batch
    rows_read: int
    problems: tuple[Problem, ...]
    notices: tuple[str, ...]


def read_sales_file(
    shop: Shop,
    path: Path,
    device_class: DeviceClass,
    *,
    base: str | None = None,
    rates: Path | None = None,
    keep_good: bool = False,
) -> SalesReading:
    """Return the sales of a file or several; bad rows are left out when ``keep_good``, else refused.

    Args:
        shop: Knows the day.
        path: The file, or a pattern such as part-*.csv that names several; they are read as one.
        device_class: Their class.
        base: Currency that all prices are turned into; None: that of the file.
        rates: A file of rates per unit of ``base``; None: the embedded reference rates.
        keep_good: Leave bad rows out.

    Raises:
        NotFound: There is no such file, or none that matches.
        BadInput: A row is bad and ``keep_good`` is not set, or a file cannot be read at all.
    """
    known = None if rates is None else rates_of(rates, base)
    reading = read_sales_files(
        matching_files(path), device_class, base=base, today=shop.today, rates=known
    )
    refuse_bad_rows(reading.problems, path.name, keep_good)
    return reading


def refuse_bad_rows(problems: Sequence[Problem], source: str, keep_good: bool) -> None:
    """Refuse sales with bad rows, unless they are to be left out.

    Raises:
        BadInput: There is a problem, and ``keep_good`` is not set.
    """
    if problems and not keep_good:
        raise BadInput(f"{counted(len(problems), 'problem')} in {source}; nothing was taken from it", tuple(problems))


def rates_of(path: Path, base: str | None) -> TableRates:
    """Return the user's own rates per unit of ``base``.

    Raises:
        NotFound: There is no such file.
        BadInput: It has problems, or no base is named.
    """
    if not base:
        problem = Problem(path.name, None, None, "no base", "the currency that its rates are per (--base)")
        raise BadInput(str(problem), (problem,))
    return read_rates_csv(path, base=base)


def import_sales(
    shop: Shop,
    path: Path,
    device_class: DeviceClass,
    *,
    base: str | None = None,
    rates: Path | None = None,
    keep_good: bool = False,
) -> SalesImport:
    """Keep the sales of a file in the store, in the currency that the store has for the class.

    Raises:
        BadInput: As ``read_sales_file``; or the store has these prices in a currency that cannot be reached.
    """
    with shop.store.reading() as work:
        kept = work.comparables.currency(device_class.name)
    wanted = base or kept or None
    reading = read_sales_file(shop, path, device_class, base=wanted, rates=rates, keep_good=keep_good)
    with shop.store.writing(shop.now()) as work:
        batch = work.comparables.add(reading.table, reading.device_class, path.name)
    return SalesImport(batch, reading.rows_read, tuple(reading.problems), tuple(reading.notices))


def import_rows(
    shop: Shop,
    rows: Sequence[Row],
    device_class: DeviceClass,
    *,
    base: str | None = None,
    keep_good: bool = False,
) -> SalesImport:
    """Keep sales that came as rows of named cells; the same checks as for a file, line 1 is the first row.

    Raises:
        BadInput: A row is bad and ``keep_good`` is not set, or there is no row.
    """
    if not rows:
        problem = Problem("request", None, "rows", "nothing", "at least one sale")
        raise BadInput(str(problem), (problem,))
    columns = tuple(dict.fromkeys(name for row in rows for name in row))
    with TemporaryDirectory() as folder:
        path = Path(folder) / "request"
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, columns, restval="")
            writer.writeheader()
            writer.writerows(rows)
        try:
            return import_sales(shop, path, device_class, base=base, keep_good=keep_good)
        except BadInput as error:
            moved = tuple(_without_header(problem) for problem in error.problems)
            raise BadInput(str(error), moved) from error


def list_sales(shop: Shop, device_class: str, *, limit: int, offset: int) -> Page[StoredSale]:
    """Return stored sales of a class, in the order of their numbers."""
    with shop.store.reading() as work:
        return work.comparables.page(device_class, limit=limit, offset=offset)


def list_batches(shop: Shop, *, limit: int, offset: int) -> Page[Batch]:
    """Return the imports, the latest first."""
    with shop.store.reading() as work:
        return work.comparables.batches(limit=limit, offset=offset)


def _without_header(problem: Problem) -> Problem:
    line = None if problem.line is None else max(problem.line - 1, 1)
    return replace(problem, source="request", line=line)
