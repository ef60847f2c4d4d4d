"""What must hold of every estimate, tried on random units of the demo classes."""

from __future__ import annotations

from datetime import date
from functools import cache
from random import Random
from typing import Any

import numpy as np
import pytest

from data.demo.generate import generate
from pricing.estimation.estimate import estimate_rows, estimate_units
from pricing.estimation.explain import explain
from pricing.estimation.what_if import Change, changed, what_if
from pricing.hedonic.fit import fit_model
from pricing.hedonic.market_term import sold_for_parts
from pricing.hedonic.model import PriceModel
from pricing.records.device_class import FAULT_STATUSES, MARK_KINDS
from pricing.records.sales_table import ConditionTable, SalesTable
from pricing.records.unit import FittedPart, FunctionTest, LockCheck, Mark, Unit, status_now
from pricing.records.unit_columns import columns_of_units
from tests.counts import count
from tests.figures import keep
from tests.random_units import random_unit

CLASSES = ("phone", "laptop", "console")
UNITS = 500
ROWS = 700


@cache
def market(name: str, floor: bool = True) -> tuple[SalesTable, PriceModel]:
    """Return demo sales and their model; without ``floor`` none was for parts, so no price ends at that floor."""
    demo = generate(2, rows={name: ROWS})
    sales, described = demo.tables[name], demo.device_classes[name]
    if not floor:
        sales = sales.take(np.flatnonzero(~sold_for_parts(sales.condition)))
    return sales, fit_model(sales, described)


def plausible_unit(name: str, seed: int) -> Unit:
    """Return a unit with the attributes of a random sale, from sound to one of which everything is random."""
    sales, model = market(name)
    described, chance = model.device_class, Random(seed)
    row, trouble = chance.randrange(sales.rows), chance.choice((0.0, 0.02, 0.1, 1.0))
    condition, attributes = sales.condition, {}
    for attribute in described.attributes:
        if attribute.name in condition.numbers:
            number = condition.numbers[attribute.name][row]
            attributes[attribute.name] = None if np.isnan(number) else repr(float(number))
        elif attribute.name in condition.texts:
            attributes[attribute.name] = condition.texts[attribute.name].word(row)
    unit = random_unit(described, seed)
    if trouble == 1.0:
        return unit.model_copy(update={"attributes": attributes})
    works = FunctionTest(status="works", tested_on=date(2026, 6, 1), restarted=True)
    kept = {f: test for f, test in unit.functions.items() if chance.random() < trouble}
    quiet = {
        "functions": {function.name: works for function in described.functions} | kept,
        "locks": {lock.name: LockCheck(state="free") for lock in described.locks if chance.random() > trouble},
        "looked_at": tuple(s.name for s in described.surfaces if chance.random() > trouble),
        "marks": unit.marks[:1] if chance.random() < 3 * trouble else (),
        "parts": unit.parts[:1] if chance.random() < 3 * trouble else (),
        "covered": (), "opened": "no sign", "opened_on": None,
    }  # fmt: skip
    return unit.model_copy(update={"attributes": attributes, **quiet})


def worsenings(unit: Unit, model: PriceModel) -> list[Change]:
    """Return every change that may not raise the price: new faults, marks, locks and parts of other origin."""
    described = model.device_class
    found = []
    for function in described.functions:
        status = status_now(function, unit, described)
        worse = {"works": FAULT_STATUSES, "untested": ("dead",)}.get(status, ())
        found += [Change("function", function.name, each) for each in worse]
    marked = {mark.surface for mark in unit.marks}
    found += [Change("mark", s.name, kind) for s in described.surfaces if s.name not in marked for kind in MARK_KINDS]
    other = {fitted.part for fitted in unit.parts}
    found += [
        Change("part", part.name, origin)
        for part in described.parts
        if part.name not in other
        for origin in ("third-party", "salvaged")
    ]
    for lock in described.locks:
        state = unit.locks[lock.name].state if lock.name in unit.locks else "not checked"
        worse = {"free": ("locked", "not checked"), "not checked": ("locked",)}.get(state, ())
        found += [Change("lock", lock.name, each) for each in worse]
    return found


def several(unit: Unit, model: PriceModel, chance: Random) -> list[Change]:
    """Return one to four worsenings of different things; every third time a function that others hang on fails."""
    changes = worsenings(unit, model)
    gates = {name for function in model.device_class.functions for name in function.requires}
    failing = [each for each in changes if each.name in gates and each.value in ("dead", "removed")]
    picked = chance.sample(changes, min(len(changes), chance.randint(1, 4)))
    if failing and chance.random() < 0.35:
        picked.insert(0, chance.choice(failing))
    return list({(change.kind, change.name): change for change in reversed(picked)}.values())


def worsened(unit: Unit, changes: list[Change]) -> Unit:
    """Return the unit with the changes recorded on it."""
    update: dict[str, Any] = {
        "functions": dict(unit.functions), "locks": dict(unit.locks), "marks": unit.marks, "parts": unit.parts,
    }  # fmt: skip
    for change in changes:
        if change.kind == "function":
            symptom = "comes and goes" if change.value == "impaired" else None
            update["functions"][change.name] = FunctionTest(status=change.value, symptom=symptom)  # type: ignore[arg-type]
        elif change.kind == "mark":
            update["marks"] = (*update["marks"], Mark(surface=change.name, kind=change.value))
        elif change.kind == "part":
            update["parts"] = (*update["parts"], FittedPart(part=change.name, origin=change.value))  # type: ignore[arg-type]
        else:
            update["locks"][change.name] = LockCheck(state=change.value)  # type: ignore[arg-type]
    return unit.model_copy(update=update)


def pair_of(model: PriceModel, unit: Unit, changes: list[Change]) -> ConditionTable:
    table = columns_of_units((unit, unit), model.device_class)
    return model.dated(changed(table, 1, changes), None)


@pytest.mark.parametrize("name", CLASSES)
def test_a_fault_recorded_on_a_unit_never_raises_its_estimate(name: str) -> None:
    model, falls = market(name)[1], 0
    for seed in range(count(UNITS)):
        unit = plausible_unit(name, seed)
        changes = several(unit, model, Random(seed))
        before, after = estimate_units(model, (unit, worsened(unit, changes)), always=True)
        assert before.estimate is not None
        assert after.estimate is not None
        assert after.estimate.amount <= before.estimate.amount, (seed, changes)
        falls += after.estimate.amount < before.estimate.amount
    keep(f"faults_lower_{name}", f"new defects on {count(UNITS)} units: none dearer, {falls} cheaper")
    assert falls > count(UNITS) / 3


@pytest.mark.parametrize("name", CLASSES)
def test_a_fault_never_raises_the_bare_prediction(name: str) -> None:
    model = market(name, floor=False)[1]
    for seed in range(count(UNITS)):
        unit = plausible_unit(name, seed)
        changes = worsenings(unit, model)
        table = columns_of_units((unit,) * (len(changes) + 1), model.device_class)
        for row, change in enumerate(changes):
            table = changed(table, row, [change]) if row % 9 == seed % 9 else table
        means = model.predict(model.dated(table, None)).mean
        dearer = [changes[row] for row in np.flatnonzero(means[:-1] > means[-1] + 1e-9)]
        assert not dearer, (seed, dearer)


@pytest.mark.parametrize("name", CLASSES)
def test_faults_upon_faults_never_raise_the_bare_prediction(name: str) -> None:
    model = market(name, floor=False)[1]
    for seed in range(count(UNITS)):
        unit, chance = plausible_unit(name, seed), Random(seed)
        table = columns_of_units((unit,), model.device_class)
        price = model.predict(model.dated(table, None)).mean[0]
        for change in several(unit, model, chance):
            table = changed(table, 0, [change])
            lower = model.predict(model.dated(table, None)).mean[0]
            assert lower <= price + 1e-9, (seed, change)
            price = lower


@pytest.mark.parametrize("name", CLASSES)
def test_a_further_mark_on_a_marked_surface_never_raises_the_estimate(name: str) -> None:
    model, falls = market(name, floor=False)[1], 0
    described = model.device_class
    for seed in range(count(UNITS)):
        unit, chance = plausible_unit(name, seed), Random(seed)
        surface = chance.choice(described.surfaces).name
        first, second = (Change("mark", surface, kind) for kind in chance.sample(MARK_KINDS, 2))
        marked = worsened(unit, [first])
        before, after = estimate_units(model, (marked, worsened(marked, [second])), always=True)
        assert before.estimate is not None
        assert after.estimate is not None
        assert after.estimate.amount <= before.estimate.amount, (seed, first, second)
        falls += after.estimate.amount < before.estimate.amount
    assert falls > count(UNITS) / 3


@pytest.mark.parametrize("name", CLASSES)
def test_contributions_rebuild_the_estimate_to_the_cent(name: str) -> None:
    model, told, seed = market(name)[1], 0, 0
    while told < count(UNITS):
        unit = plausible_unit(name, seed)
        seed += 1
        estimate = estimate_units(model, (unit,))[0]
        if estimate.abstained is not None:
            continue
        told += 1
        found = explain(model, unit)
        assert found.reference.amount + sum(each.money.amount for each in found.contributions) == found.estimate.amount
        assert found.estimate == estimate.estimate
    keep(f"explanations_{name}", f"{told} explanations rebuild the estimate to the cent; {seed - told} units abstained")
    assert told > seed / 2


@pytest.mark.parametrize("name", CLASSES)
def test_the_interval_of_a_change_holds_it_and_ends_at_0_for_faults(name: str) -> None:
    model, told, seed = market(name)[1], 0, 0
    while told < count(UNITS):
        unit = plausible_unit(name, seed)
        changes = several(unit, model, Random(seed))
        seed += 1
        pair = pair_of(model, unit, changes)
        if any(estimate.abstained for estimate in estimate_rows(model, pair)):
            continue
        told += 1
        found = what_if(model, unit, changes)
        assert found.low_95.amount <= found.change.amount <= found.high_95.amount, (seed, changes)
        assert found.high_95.amount <= 0, (seed, changes)


@pytest.mark.parametrize("name", CLASSES)
def test_units_alone_and_in_a_batch_are_priced_alike(name: str) -> None:
    model = market(name)[1]
    units = [plausible_unit(name, seed) for seed in range(count(UNITS))]
    together = estimate_units(model, units, always=True)
    for unit, found in list(zip(units, together, strict=True))[:: max(len(units) // 50, 1)]:
        assert estimate_units(model, (unit,), always=True)[0] == found
    assert len({found.estimate for found in together}) > len(units) / 2
