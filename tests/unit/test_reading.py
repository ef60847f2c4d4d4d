from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pricing.hedonic.design import Design, learn_design
from pricing.hedonic.fault_term import told as told_otherwise
from pricing.hedonic.reading import read_units
from pricing.hedonic.summary import summarise
from pricing.records.sales_table import ConditionTable, SalesTable
from tests.builders import small_class
from tests.market import table_of, with_condition, words

GATE = "power_on"
FAILING = [("dead", 0), ("removed", 3), ("dead", 9)]


@pytest.fixture(scope="module")
def told(sales: SalesTable) -> SalesTable:
    """Sales of which some went for parts."""
    sold_as = words(*["parts"] * 9, *["working"] * (sales.rows - 10), None)
    return with_condition(sales, sold_as=sold_as)


@pytest.fixture(scope="module")
def design(told: SalesTable) -> Design:
    return learn_design(summarise(told, small_class()), small_class())


def effects_of(design: Design, parts: float) -> np.ndarray:
    """Return invented effects, of which the one of a sale for parts is as given."""
    effects = np.random.default_rng(5).normal(scale=0.3, size=design.columns)
    assert design.faults is not None
    # No fault raises a price; several of them together are a little better than their sum.
    several, *faults = design.term_columns(design.terms.index(design.faults))
    effects[faults], effects[several] = -np.abs(effects[faults]), 0.02
    effects[design.term_columns(0)[-1]] = parts
    return effects


def mean_of(design: Design, effects: np.ndarray, units: ConditionTable) -> np.ndarray:
    return design.rows(units).to_dense() @ effects


def plain_mean(design: Design, effects: np.ndarray, units: ConditionTable) -> np.ndarray:
    """Return the mean of units one by one, trying every reading of each."""
    found = []
    for row in range(units.rows):
        unit = units.take(np.array([row]))
        readings = [unit]
        if unit.faults[GATE].word(0) not in ("dead", "removed", "not fitted"):
            readings += [told_otherwise(unit, [(GATE, word)], np.array([0])) for word in ("dead", "removed")]
        readings += [replace(each, sold_as=words("parts")) for each in readings]
        found.append(max(float(mean_of(design, effects, each)[0]) for each in readings))
    return np.array(found)


@pytest.mark.parametrize("parts", [-9.0, 0.0, 9.0])
def test_every_unit_is_read_as_its_highest_reading_and_not_below_its_parts(
    design: Design, told: SalesTable, parts: float
) -> None:
    effects = effects_of(design, parts)
    found = read_units(design, effects, lambda raw: raw.dense[:, 0], told.condition)
    assert found.mean == pytest.approx(plain_mean(design, effects, told.condition), abs=1e-12)
    assert found.told
    sold = told.condition.sold_as
    assert sold is not None
    assert found.as_parts.sum() == {-9.0: 0, 9.0: told.rows - 9}.get(parts, found.as_parts.sum())


@pytest.mark.parametrize("parts", [-9.0, 0.0])
def test_the_units_as_read_have_the_mean_and_variance_that_were_found(
    design: Design, told: SalesTable, parts: float
) -> None:
    effects = effects_of(design, parts)
    found = read_units(design, effects, lambda raw: raw.quadratic(np.eye(raw.columns)), told.condition)
    raw = design.rows(found.table(told.condition)).to_dense()
    assert found.mean == pytest.approx(raw @ effects, abs=1e-12)
    assert found.own == pytest.approx((raw**2).sum(axis=1), rel=1e-12)


def test_units_of_several_blocks_are_read_as_each_alone(design: Design, told: SalesTable) -> None:
    effects, rows = effects_of(design, 0.0), np.resize(np.arange(told.rows), 33_000)
    many = read_units(design, effects, lambda raw: raw.dense[:, 0], told.condition.take(rows))
    one = read_units(design, effects, lambda raw: raw.dense[:, 0], told.condition)
    assert many.mean == pytest.approx(one.mean[rows], abs=1e-12)
    assert np.array_equal(many.as_parts, one.as_parts[rows])
    highest = [np.sort(np.concatenate([mine for mine, _ in found.told])) for found in (many, one)]
    assert np.array_equal(highest[0], np.flatnonzero(np.isin(rows, highest[1])))


def test_no_units_are_read_as_none(design: Design) -> None:
    found = read_units(design, np.zeros(design.columns), lambda raw: raw.dense[:, 0], table_of(0))
    assert (found.mean.shape, found.unseen.shape, found.table(table_of(0)).rows) == ((0,), (0, 3), 0)
