"""Estimates: units priced one at a time, changed, explained."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from api.shop.models import stored_model, stored_sales
from api.shop.shop import Shop
from api.shop.units import given_or_stored
from data.importing.unit_json import read_unit
from data.storage.page import Page
from data.storage.statements import Statement
from pricing.errors import Abstained, BadInput, Problem
from pricing.estimation.estimate import estimate_unit
from pricing.estimation.explain import explain
from pricing.estimation.what_if import parse_change, what_if
from pricing.hedonic.model import PriceModel
from pricing.records.estimate import Estimate, Explanation, WhatIf
from pricing.records.sales_table import SalesTable
from pricing.records.unit import Unit
from pricing.records.unit_columns import check_unit


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
