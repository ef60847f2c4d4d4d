"""What is left of the columns, and of the bounds, when a part is taken out."""

from __future__ import annotations

import json
from dataclasses import asdict, replace

import numpy as np
import pytest

from data.demo.generate import generate
from pricing.hedonic.design import Design, learn_design
from pricing.hedonic.fault_term import FaultTerm
from pricing.hedonic.fit import CORE, fit_model
from pricing.hedonic.level_term import LevelTerm
from pricing.hedonic.model import PriceModel
from pricing.hedonic.number_term import NumberTerm
from pricing.hedonic.summary import summarise
from tests.benchmarks.ablation_parts import (
    PARTS,
    broken_bounds,
    one_calibration,
    without_bends,
    without_calibration,
    without_pooling,
)

DEMO = generate(5, rows={"console": 300})
SALES, DEVICE_CLASS = DEMO.tables["console"], DEMO.device_classes["console"]


@pytest.fixture(scope="module")
def design() -> Design:
    return learn_design(summarise(SALES, DEVICE_CLASS), DEVICE_CLASS)


@pytest.fixture(scope="module")
def model() -> PriceModel:
    return fit_model(SALES, DEVICE_CLASS, settings=CORE)


def blocks(design: Design) -> set[str]:
    return {block.name for block in design.block_table().blocks}


def test_without_pooling_no_level_has_a_variance_and_bends_keep_theirs(design: Design) -> None:
    names = {term.name for term in design.terms if isinstance(term, LevelTerm)}
    assert {"brand", "model"} <= names & blocks(design)
    left = blocks(without_pooling(design))
    assert not names & left
    assert "year: bend" in left


def test_without_pooling_each_fault_has_a_coefficient_of_its_own(design: Design) -> None:
    faults = without_pooling(design).faults
    assert faults is not None
    assert design.faults is not None
    assert design.faults.states.pooled
    assert not faults.states.pooled


def test_without_bends_a_number_has_one_column_and_the_levels_stay(design: Design) -> None:
    straight = without_bends(design)
    assert {term.dense_columns for term in straight.terms if isinstance(term, NumberTerm)} == {1}
    assert [type(term) for term in straight.terms] == [type(term) for term in design.terms]
    assert "year: bend" in blocks(design) - blocks(straight)
    row = straight.rows(SALES.condition, SALES.asked).to_dense()
    assert np.isfinite(row).all()


def test_one_calibration_is_the_same_at_every_price(model: PriceModel) -> None:
    found = one_calibration(replace(model, by_support={"seen": model.calibration}))
    assert found.by_support == {}
    assert len(found.calibration.places) == 1
    assert found.effects is model.effects


def test_taking_off_the_calibration_is_the_fit_without_it(model: PriceModel) -> None:
    found = without_calibration(model)
    fitted = fit_model(SALES, DEVICE_CLASS, settings=replace(CORE, calibration=False))
    units = model.predict(model.dated(SALES.condition.take(np.arange(50)), None))
    assert model.calibration.calibrated[1]
    assert not any(found.calibration.calibrated)
    np.testing.assert_allclose(found.interval(units, 80), fitted.interval(units, 80), rtol=1e-9)
    np.testing.assert_allclose(found.estimate(units), fitted.estimate(units), rtol=1e-9)


def test_a_fit_with_bounds_tells_its_free_effects_against_them(model: PriceModel) -> None:
    held = broken_bounds(replace(model, free_effects=model.effects))
    assert (held.raising, held.order, held.numbers) == ((), 0, ())
    assert held.states > 20


def test_a_fault_that_raises_the_price_and_a_falling_number_are_named(model: PriceModel) -> None:
    effects = model.effects.copy()
    for term, place in zip(model.design.terms, model.design.places, strict=True):
        if isinstance(term, FaultTerm):
            wifi = term.states.things.index("wifi")
            effects[place.hot + wifi * term.states.width + term.states.states.index("dead")] = 0.1
        if isinstance(term, NumberTerm) and term.name == "storage_gb":
            effects[place.dense : place.dense + term.dense_columns] *= -1
    found = broken_bounds(replace(model, free_effects=effects))
    assert found.raising == ("wifi dead",)
    assert found.order >= 2  # now dead is better than untested and than what nobody stated
    assert found.numbers == ("storage_gb",)
    assert json.loads(json.dumps(asdict(found)))["raising"] == ["wifi dead"]  # plain numbers, because results are kept


def test_every_part_is_compared_with_one_that_is_run() -> None:
    assert all(part.beside in ("", *PARTS) for part in PARTS.values())
    assert all(PARTS[part.beside].finish is None for part in PARTS.values() if part.beside)
