"""Sales in several files: each is read by itself, and what they must agree on is checked over all of them.

Every file shows its own encoding, delimiter and decimal mark. All must end in one currency. Where the class describes
no function, surface, part or lock, the columns of all files together say which there are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from data.importing.comparables_csv import SalesReading, read_sales
from data.importing.rates import Rates
from pricing.errors import BadInput, NotFound, Problem, counted, refused
from pricing.records.device_class import DeviceClass
from pricing.records.joined_sales import joined
from pricing.records.sales_table import SalesTable

_EXTENSIONS = ("functions", "surfaces", "parts", "locks")


@dataclass(frozen=True, eq=False)
class FileOutline:
    """What is known of one file beside its sales.

    Attributes:
        source: Its name.
        rows_read: Rows in it, bad ones included.
        columns: A table of no rows with the file's columns and currency.
        problems, notices, device_class: As in ``SalesReading``.
        refusal: Why the whole file cannot be used; then the rest is empty.
    """

    source: str
    rows_read: int
    columns: SalesTable | None
    problems: tuple[Problem, ...]
    notices: tuple[str, ...]
    device_class: DeviceClass
    refusal: BadInput | NotFound | None = None


@dataclass(frozen=True, eq=False)
class Agreement:
    """What several files come to together.

    Attributes:
        columns: A table of no rows with the columns of all files, in their one currency.
        device_class: The class with what the columns of all files add.
        problems: Of all files, file by file.
        notices: Of all files; where they are not the same in all, with the file's name.
        rows_read: Rows in all files, bad ones included.
    """

    columns: SalesTable
    device_class: DeviceClass
    problems: tuple[Problem, ...]
    notices: tuple[str, ...]
    rows_read: int


def outline(reading: SalesReading, source: str) -> FileOutline:
    """Return a reading without its rows."""
    return FileOutline(
        source=source,
        rows_read=reading.rows_read,
        columns=reading.table.take(np.arange(0)),
        problems=reading.problems,
        notices=reading.notices,
        device_class=reading.device_class,
    )


def refused_outline(error: BadInput | NotFound, source: str, device_class: DeviceClass) -> FileOutline:
    """Return what is left of a file that cannot be used."""
    problems = error.problems if isinstance(error, BadInput) else ()
    return FileOutline(source, 0, None, problems, (), device_class, error)


def agreement(outlines: Sequence[FileOutline], device_class: DeviceClass) -> Agreement:
    """Return what files come to together.

    Args:
        outlines: Of one file at least.
        device_class: The class as it was before any file was read.

    Raises:
        NotFound: A file is not there, and no other is bad.
        BadInput: Files cannot be used, or they are in several currencies.
    """
    _refuse_unusable(outlines)
    tables = [each.columns for each in outlines if each.columns is not None]
    _refuse_currencies(outlines)
    return Agreement(
        columns=joined(tables),
        device_class=_extended(device_class, [each.device_class for each in outlines]),
        problems=tuple(problem for each in outlines for problem in each.problems),
        notices=_notices(outlines),
        rows_read=sum(each.rows_read for each in outlines),
    )


def read_sales_files(
    paths: Sequence[Path],
    device_class: DeviceClass,
    *,
    base: str | None,
    today: date,
    rates: Rates | None = None,
) -> SalesReading:
    """Read several files of sales as one; see ``read_sales``.

    Raises:
        NotFound: A file is not there.
        BadInput: A file as a whole cannot be used, or they are in several currencies and no base is given.
    """
    outlines: list[FileOutline] = []
    tables: list[SalesTable] = []
    for path in paths:
        try:
            reading = read_sales(path, device_class, base=base, today=today, rates=rates)
        except (BadInput, NotFound) as error:
            outlines.append(refused_outline(error, path.name, device_class))
            continue
        if len(paths) == 1:
            return reading
        outlines.append(outline(reading, path.name))
        tables.append(reading.table)
    found = agreement(outlines, device_class)
    return SalesReading(joined(tables), found.problems, found.notices, found.rows_read, found.device_class)


def _refuse_unusable(outlines: Sequence[FileOutline]) -> None:
    refusals = [each for each in outlines if each.refusal is not None]
    if not refusals:
        return
    if len(refusals) == 1 and refusals[0].refusal is not None:
        raise refusals[0].refusal
    problems = tuple(problem for each in outlines for problem in each.problems)
    told = "; ".join(f"{each.source}: {each.refusal}" for each in refusals[:3])
    raise BadInput(f"{counted(len(refusals), 'file')} cannot be used: {told}", problems)


def _refuse_currencies(outlines: Sequence[FileOutline]) -> None:
    files: dict[str, str] = {}
    for each in outlines:
        if each.columns is not None:
            files.setdefault(each.columns.currency, each.source)
    if len(files) > 1:
        source = next(iter(files.values()))
        found = ", ".join(f"{currency or 'no currency'} in {name}" for currency, name in files.items())
        expected = "one currency in all files, or the base to which prices are converted (--base)"
        raise refused(source, [Problem(source, None, "currency", found, expected)])


def _extended(device_class: DeviceClass, classes: Sequence[DeviceClass]) -> DeviceClass:
    """Return the class with the functions, surfaces, parts and locks that any of the classes has."""
    added: dict[str, object] = {}
    for kind in _EXTENSIONS:
        known = {each.name: each for each in getattr(device_class, kind)}
        found = {each.name: each for described in classes for each in getattr(described, kind)}
        if found.keys() != known.keys():
            added[kind] = tuple((found | known).values())
    if not added:
        return device_class
    # Built anew, because a copy would keep the names that the class has looked up already.
    fields = {name: getattr(device_class, name) for name in DeviceClass.model_fields}
    return DeviceClass.model_validate(fields | added)


def _notices(outlines: Sequence[FileOutline]) -> tuple[str, ...]:
    files: dict[str, list[str]] = {}
    for each in outlines:
        for notice in each.notices:
            files.setdefault(notice, []).append(each.source)
    return tuple(
        notice if len(sources) == len(outlines) else f"{_some(sources)}: {notice}" for notice, sources in files.items()
    )


def _some(sources: Sequence[str]) -> str:
    return sources[0] if len(sources) == 1 else f"{sources[0]} and {len(sources) - 1} more"
