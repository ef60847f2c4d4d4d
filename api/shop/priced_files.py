"""Many units priced at once: those of the store, or of a file of any length."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from importlib import import_module
from itertools import chain
from pathlib import Path

from api.shop.files import write_rows
from api.shop.price_sheet import PRICE_COLUMNS, sheet_rows
from api.shop.shop import Shop
from api.shop.units import list_units
from data.importing.tables import is_parquet
from data.importing.units_csv import UnitsFile, UnitsReading, survey_units
from pricing.errors import NotFound, Problem
from pricing.estimation.estimate import estimate_columns
from pricing.estimation.reasons import notice_of_day
from pricing.hedonic.model import PriceModel
from pricing.records.unit_columns import columns_of_units

PIECE_ROWS = 50_000
MOST_PROBLEMS = 1_000


@dataclass(frozen=True)
class PriceCounts:
    """What came of pricing a file of units.

    Attributes:
        header: The file's columns, then those of the prices.
        priced: Rows with a figure.
        abstained: Good rows without one.
        bad: Rows that could not be read.
        problems: What was wrong in those, place by place; of a file priced in pieces the first 1,000.
        problem_count: How many there were.
        notices: What else the reader should know.
    """

    header: tuple[str, ...]
    priced: int
    abstained: int
    bad: int
    problems: tuple[Problem, ...]
    problem_count: int
    notices: tuple[str, ...]

    @property
    def row_count(self) -> int:
        """Number of rows."""
        return self.priced + self.abstained + self.bad


@dataclass(frozen=True)
class PriceSheet:
    """A units file, priced: its counts, and the cells of each row."""

    counts: PriceCounts
    rows: tuple[tuple[str, ...], ...]


def price_store(shop: Shop, model: PriceModel, *, on: date | None = None, always: bool = False) -> PriceSheet:
    """Price every unit in the store that is of the model's class."""
    name = model.device_class.name
    units = [stored.unit for stored in list_units(shop, device_class=name, limit=0, offset=0).items]
    columns = estimate_columns(model, columns_of_units(units, model.device_class), on=on, always=always)
    rows = tuple(sheet_rows([(unit.number or "",) for unit in units], {}, columns))
    tally = _Tally(("number",), most_problems=0)
    tally.add_rows(rows, bad=0)
    return PriceSheet(tally.counts(notice_of_day(model, on)), rows)


def price_file(
    model: PriceModel, path: Path, *, on: date | None = None, always: bool = False
) -> PriceSheet:
    """Price every unit of a CSV or Parquet file; needs no store.

    Raises:
        NotFound: There is no such file.
        BadInput: The file as a whole cannot be read; a bad row only loses its own price.
    """
    file = survey_units(path, model.device_class, PIECE_ROWS)
    tally = _Tally(file.header, most_problems=sys.maxsize)
    rows = tuple(_priced_rows(model, file, tally, on=on, always=always, tell=_tell_nobody))
    return PriceSheet(tally.counts(notice_of_day(model, on)), rows)


def price_into(
    model: PriceModel,
    path: Path,
    out: Path,
    *,
    on: date | None = None,
    always: bool = False,
    tell: Callable[[int, int], None],
) -> PriceCounts:
    """Price a file of any length into another, holding no more than a piece of it; needs no store.

    Args:
        model: The fitted model.
        path: Units as CSV or Parquet.
        out: Where the price sheet goes, whole or not at all: Parquet when its name ends so, else CSV.
        on: Day for the rows that name none; None: the model's own.
        always: Give figures even where the model would abstain.
        tell: Called after each piece with the rows done and the rows of the file.

    Raises:
        NotFound: There is no such file, or what reads or writes Parquet is not installed.
        BadInput: The file as a whole cannot be read, or the sheet not written.
    """
    file = survey_units(path, model.device_class, PIECE_ROWS)
    tally = _Tally(file.header, most_problems=MOST_PROBLEMS)
    rows = _priced_rows(model, file, tally, on=on, always=always, tell=tell)
    _write(out, (*file.header, *PRICE_COLUMNS), rows)
    return tally.counts(notice_of_day(model, on))


def _tell_nobody(_done: int, _all: int) -> None:
    """Take no notice of how far the work is."""


def _priced_rows(
    model: PriceModel,
    file: UnitsFile,
    tally: _Tally,
    *,
    on: date | None,
    always: bool,
    tell: Callable[[int, int], None],
) -> Iterator[tuple[str, ...]]:
    for piece in file.pieces():
        columns = estimate_columns(model, piece.table, on=on, always=always)
        rows = tuple(sheet_rows(piece.cells, piece.bad, columns))
        tally.add(piece, rows)
        yield from rows
        tell(tally.row_count, file.rows)


class _Tally:
    """Counts over the pieces of a file."""

    def __init__(self, header: tuple[str, ...], *, most_problems: int) -> None:
        self._header = header
        self._most_problems = most_problems
        self._notices: dict[str, None] = {}
        self._problems: list[Problem] = []
        self._problem_count = self._priced = self._bad = self.row_count = 0

    def add(self, piece: UnitsReading, rows: Sequence[Sequence[str]]) -> None:
        """Count a piece and its rows."""
        self._notices |= dict.fromkeys(piece.notices)
        self._problems += piece.problems[: self._most_problems - len(self._problems)]
        self._problem_count += len(piece.problems)
        self.add_rows(rows, len(piece.bad))

    def add_rows(self, rows: Sequence[Sequence[str]], bad: int) -> None:
        """Count rows, some of which could not be read."""
        self._priced += sum(row[len(self._header)] != "" for row in rows)
        self._bad += bad
        self.row_count += len(rows)

    def counts(self, notices: Sequence[str]) -> PriceCounts:
        """Return what was counted."""
        return PriceCounts(
            header=(*self._header, *PRICE_COLUMNS),
            priced=self._priced,
            abstained=self.row_count - self._priced - self._bad,
            bad=self._bad,
            problems=tuple(self._problems),
            problem_count=self._problem_count,
            notices=(*self._notices, *notices),
        )


def write_sheet(sheet: PriceSheet, path: Path) -> None:
    """Write a price sheet as CSV, or as Parquet when the name ends so.

    Raises:
        NotFound: What writes Parquet is not installed.
        BadInput: The place cannot be written.
    """
    _write(path, sheet.counts.header, sheet.rows)


def _write(path: Path, header: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    if not is_parquet(path):
        write_rows(path, chain((header,), rows))
        return
    # Loaded by name, because pyarrow is only there with the extra "scale".
    try:
        module = import_module("api.shop.parquet_sheet")
    except ImportError as error:
        raise NotFound(f"{path.name} needs pyarrow, which is not installed: pip install plainsale[scale]") from error
    module.write_parquet_sheet(path, header, rows)
