"""Estimates: units priced from a file, one at a time, changed, explained."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from api.shop.files import write_rows
from api.shop.models import stored_model, stored_sales
from api.shop.price_sheet import PRICE_COLUMNS, sheet_rows
from api.shop.shop import Shop
from api.shop.units import given_or_stored, list_units
from data.importing.unit_json import read_unit
from data.importing.units_csv import read_units
from data.storage.page import Page
from data.storage.statements import Statement
from pricing.errors import Abstained, BadInput, Problem
from pricing.estimation.estimate import estimate_columns, estimate_unit
from pricing.estimation.explain import explain
from pricing.estimation.reasons import notice_of_day
from pricing.estimation.what_if import parse_change, what_if
from pricing.hedonic.model import PriceModel
from pricing.records.estimate import Estimate, Explanation, WhatIf
from pricing.records.sales_table import SalesTable
from pricing.records.unit import Unit
from pricing.records.unit_columns import check_unit, columns_of_units


@dataclass(frozen=True)
class PriceSheet:
    """A units file, priced.

    Attributes:
        header: The file's columns, then those of the prices.
        rows: Cells in the same order.
        priced: Rows with a figure.
        abstained: Good rows without one.
        bad: Rows that could not be read.
        problems: What was wrong in those, place by place.
        notices: What else the reader should know.
    """

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    priced: int
    abstained: int
    bad: int
    problems: tuple[Problem, ...]
    notices: tuple[str, ...]


def price_store(shop: Shop, model: PriceModel, *, on: date | None = None, always: bool = False) -> PriceSheet:
    """Price every unit in the store that is of the model's class."""
    name = model.device_class.name
    units = [stored.unit for stored in list_units(shop, device_class=name, limit=0, offset=0).items]
    columns = estimate_columns(model, columns_of_units(units, model.device_class), on=on, always=always)
    rows = tuple(sheet_rows([(unit.number or "",) for unit in units], {}, columns))
    return _sheet(("number",), rows, notices=notice_of_day(model, on))


def price_file(
    model: PriceModel, path: Path, *, on: date | None = None, always: bool = False
) -> PriceSheet:
    """Price every unit of a CSV file; needs no store.

    Raises:
        NotFound: There is no such file.
        BadInput: The file as a whole cannot be read; a bad row only loses its own price.
    """
    reading = read_units(path, model.device_class)
    columns = estimate_columns(model, reading.table, on=on, always=always)
    rows = tuple(sheet_rows(reading.cells, reading.bad, columns))
    notices = (*reading.notices, *notice_of_day(model, on))
    return _sheet(reading.header, rows, len(reading.bad), reading.problems, notices)


def _sheet(
    header: tuple[str, ...],
    rows: tuple[tuple[str, ...], ...],
    bad: int = 0,
    problems: tuple[Problem, ...] = (),
    notices: tuple[str, ...] = (),
) -> PriceSheet:
    priced = sum(row[len(header)] != "" for row in rows)
    return PriceSheet(
        header=(*header, *PRICE_COLUMNS),
        rows=rows,
        priced=priced,
        abstained=len(rows) - priced - bad,
        bad=bad,
        problems=problems,
        notices=notices,
    )


def write_sheet(sheet: PriceSheet, path: Path) -> None:
    """Write a price sheet as CSV.

    Raises:
        BadInput: The place cannot be written.
    """
    write_rows(path, (sheet.header, *sheet.rows))


def read_unit_of(model: PriceModel, path: Path) -> Unit:
    """Return the unit in a JSON file, checked against the model's class.

    Raises:
        NotFound: There is no such file.
        BadInput: It cannot be read, or is of another class.
    """
    unit = read_unit(path)
    check_unit(unit, model.device_class, path.name)
    return unit


def unit_estimate(
    model: PriceModel, unit: Unit, *, on: date | None = None, always: bool = False
) -> Estimate:
    """Return what a unit is worth.

    Raises:
        BadInput: The unit does not fit the model's class.
        Abstained: The model declines, and ``always`` is not set.
    """
    check_unit(unit, model.device_class)
    estimate = estimate_unit(model, unit, on=on, always=always)
    if estimate.estimate is None:
        raise Abstained(estimate.abstained or "the model gives no figure for this unit")
    return estimate


def keep_estimate(
    shop: Shop, model: PriceModel, unit: Unit, *, on: date | None = None, always: bool = False
) -> Statement[Estimate]:
    """Price a unit and keep what was said.

    Raises:
        BadInput: The unit does not fit the model's class.
        Abstained: The model declines, and ``always`` is not set.
    """
    estimate = unit_estimate(model, unit, on=on, always=always)
    with shop.store.writing(shop.now()) as work:
        return work.estimates.add(unit, estimate)


def what_if_changed(
    model: PriceModel, unit: Unit, changes: Sequence[str], *, on: date | None = None
) -> WhatIf:
    """Return what changes such as "function:camera_wide=works" do to the estimate, all of them together.

    Raises:
        BadInput: There is no change, or one names what the class does not describe.
        Abstained: The model declines to price the unit.
    """
    if not changes:
        problem = Problem("request", None, "changes", "nothing", 'at least one such as "function:NAME=works"')
        raise BadInput(str(problem), (problem,))
    check_unit(unit, model.device_class)
    wanted = [parse_change(change, model.device_class) for change in changes]
    return what_if(model, unit, wanted, on=on)


def explanation(
    shop: Shop, model: PriceModel, unit: Unit, *, on: date | None = None, sales: SalesTable | None = None
) -> Explanation:
    """Return what makes the estimate, and the most similar of ``sales`` (of the store's, when None).

    Raises:
        BadInput: The unit does not fit the model's class.
        Abstained: The model declines to price the unit.
    """
    check_unit(unit, model.device_class)
    pool = stored_sales(shop, model.device_class.name) if sales is None else sales
    return explain(model, unit, sales=pool, on=on)


def unit_and_model(
    shop: Shop, unit: Unit | None, number: str | None, fingerprint: str | None
) -> tuple[Unit, PriceModel]:
    """Return the unit given or stored under ``number``, and the model of that fingerprint or the latest.

    Raises:
        BadInput: Neither or both of unit and number are given.
        NotFound: There is no such unit or model.
    """
    chosen = given_or_stored(shop, unit, number)
    return chosen, stored_model(shop, chosen.device_class, fingerprint)


def get_estimate(shop: Shop, number: int) -> Statement[Estimate]:
    """Return an estimate as it was given.

    Raises:
        NotFound: None has this number.
    """
    with shop.store.reading() as work:
        return work.estimates.get(number)


def list_estimates(
    shop: Shop, *, unit_number: str | None, limit: int, offset: int
) -> Page[Statement[Estimate]]:
    """Return estimates, the latest first, all or of one unit."""
    with shop.store.reading() as work:
        return work.estimates.page(unit_number=unit_number, limit=limit, offset=offset)
