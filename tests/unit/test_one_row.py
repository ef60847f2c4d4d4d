from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from pricing.estimation.estimate import estimate_unit, estimate_units
from pricing.hedonic.fit import CORE, FitSettings, fit_model
from pricing.hedonic.model import PriceModel, Said
from pricing.hedonic.one_row import BySpecification
from pricing.records.sales_table import ConditionTable, SalesTable
from pricing.records.unit import Unit
from pricing.records.unit_columns import UnitCells, cells_of_row, cells_of_unit, columns_of_units
from tests.builders import healthy, small_class, spotless
from tests.market import repriced, small_sales, with_condition, words
from tests.random_units import random_unit

KNOWN = {"brand": "Onda", "model": "N1", "storage_gb": "128"}


def some_for_parts(sales: SalesTable) -> SalesTable:
    parts = np.arange(sales.rows) % 8 == 3
    sold = repriced(sales, np.where(parts, 90.0, sales.price))
    return with_condition(sold, sold_as=words(*np.where(parts, "parts", "working")))


@pytest.fixture(scope="module", params=["main effects", "everything", "parts"])
def each(request: pytest.FixtureRequest) -> PriceModel:
    sales = some_for_parts(small_sales(160)) if request.param == "parts" else small_sales(160)
    return fit_model(sales, small_class(), settings=FitSettings() if request.param == "everything" else CORE)


def alone(model: PriceModel, unit: Unit, on: date | None = None) -> Said:
    cells, day = cells_of_unit(unit, model.device_class), model.day_for(on)
    return model.predict_one(cells, day, model.row_reader.strips(cells, day))


def same(one: Said, many: Said, row: int) -> None:
    for name in ("mean", "own", "unseen", "support"):
        assert getattr(one, name)[0] == pytest.approx(getattr(many, name)[row], rel=1e-12, abs=1e-14), name


def test_random_units_alone_are_read_as_from_a_table(each: PriceModel) -> None:
    units = [random_unit(small_class(), seed) for seed in range(150)]
    table = each.dated(columns_of_units(units, small_class()), None)
    together = each.predict(table)
    told = together.read is not table
    for row, unit in enumerate(units):
        same(alone(each, unit), together, row)
    assert told  # some gates fail, or some are worth more as parts


def test_random_units_alone_get_the_estimates_and_reasons_of_a_batch(each: PriceModel) -> None:
    units = [random_unit(small_class(), seed) for seed in range(150, 210)]
    for always in (False, True):
        assert estimate_units(each, units, always=always) == tuple(
            estimate_unit(each, unit, always=always) for unit in units
        )


@pytest.mark.parametrize("days", [-400, 0, 90])
def test_any_day_gives_the_same_alone(each: PriceModel, days: int) -> None:
    assert each.last_sale is not None
    day, unit = each.last_sale + timedelta(days=days), spotless(attributes=KNOWN)
    same(alone(each, unit, day), each.predict(each.dated(columns_of_units([unit], small_class()), day)), 0)


def test_a_failing_gate_alone_is_told_in_the_way_of_the_lowest_price(each: PriceModel) -> None:
    gates = [f.name for f in small_class().functions if any(f.name in o.requires for o in small_class().functions)]
    assert gates
    for status in ("dead", "removed"):
        unit = spotless(attributes=KNOWN, functions=healthy(**dict.fromkeys(gates, status)))
        same(alone(each, unit), each.predict(each.dated(columns_of_units([unit], small_class()), None)), 0)


def test_a_unit_is_read_again_from_what_is_remembered(each: PriceModel) -> None:
    unit = spotless(attributes=KNOWN, battery_share="84")
    assert estimate_unit(each, unit) == estimate_unit(each, unit)
    assert estimate_unit(each, spotless(attributes={**KNOWN, "storage_gb": "64"})) != estimate_unit(each, unit)


def test_undated_sales_give_the_same_alone() -> None:
    model = fit_model(with_condition(small_sales(160), sold_on=None), small_class(), settings=CORE)
    unit = spotless(attributes=KNOWN)
    assert estimate_unit(model, unit, on=date(2026, 1, 1)) == estimate_units(model, [unit], on=date(2026, 1, 1))[0]


def test_cells_are_the_same_from_a_unit_and_from_its_row() -> None:
    for seed in range(20):
        unit = random_unit(small_class(), seed)
        own, told = cells_of_unit(unit, small_class()), cells_of_row(columns_of_units([unit], small_class()), 0)
        for name in ("texts", "faults", "marks", "parts", "locks"):
            assert getattr(own, name) == getattr(told, name)
        assert own.numbers == pytest.approx(told.numbers, nan_ok=True)


def test_what_is_made_of_a_specification_is_made_once() -> None:
    made: list[ConditionTable] = []

    def count(table: ConditionTable) -> int:
        made.append(table)
        return len(made)

    said = BySpecification(("size",), ("brand",), True, count)

    def cells(size: float, brand: str | None) -> UnitCells:
        return UnitCells({"size": size}, {"brand": brand, "colour": str(len(made))}, {}, {}, {}, {})

    day = date(2026, 7, 1)
    asked = [cells(np.nan, None), cells(np.nan, None), cells(1.0, None), cells(1.0, "Onda"), cells(np.nan, None)]
    assert [said.of(each, day) for each in asked] == [1, 1, 2, 3, 1]
    assert said.of(asked[0], None) == 4
    assert made[2].texts["brand"].word(0) == "Onda"
    assert made[0].sold_on is not None
    assert made[3].sold_on is None
