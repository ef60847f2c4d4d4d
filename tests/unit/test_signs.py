from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import optimize, sparse

from pricing.errors import NotConverged
from pricing.hedonic import signs
from pricing.hedonic.design import Design, learn_design
from pricing.hedonic.signs import constrained, constraint_matrix
from pricing.hedonic.summary import summarise
from pricing.records.device_class import FAULT_STATUSES, Attribute, DeviceClass, Effect
from pricing.records.sales_table import ConditionTable, SalesTable
from tests.builders import small_class
from tests.counts import count
from tests.market import sales_of, table_of

PROBLEMS = 300
UNITS = 400
GATE = "power_on"


def reference_solution(estimate: np.ndarray, covariance: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Minimise the same distance by sequential quadratic programming (scipy)."""
    metric = np.linalg.inv(covariance)
    found = optimize.minimize(
        lambda b: (b - estimate) @ metric @ (b - estimate),
        np.zeros(len(estimate)),
        jac=lambda b: 2 * metric @ (b - estimate),
        constraints={"type": "ineq", "fun": lambda b: rows @ b, "jac": lambda b: rows},
        method="SLSQP",
        options={"maxiter": 500, "ftol": 1e-14},
    )
    assume(found.success)  # it gives up on a few corners where several bounds meet
    return found.x


@settings(max_examples=count(PROBLEMS), deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_the_constrained_solution_equals_that_of_a_general_solver(seed: int) -> None:
    rng = np.random.default_rng(seed)
    size, bounds = int(rng.integers(2, 7)), int(rng.integers(1, 9))
    root = rng.normal(size=(size, size))
    covariance = root @ root.T + 0.2 * np.eye(size)
    estimate = rng.normal(size=size)
    rows = rng.normal(size=(bounds, size)) * (rng.random((bounds, size)) < 0.5)
    found = constrained(estimate, covariance, sparse.csr_array(rows))
    assert (rows @ found).min() > -1e-7
    metric = np.linalg.inv(covariance)
    best = reference_solution(estimate, covariance, rows)
    distance = [(b - estimate) @ metric @ (b - estimate) for b in (found, best)]
    assert distance[0] <= distance[1] + 1e-6 * (1 + distance[1])
    assert found == pytest.approx(best, abs=2e-3)


def test_an_estimate_within_its_bounds_stays_as_it_is() -> None:
    estimate = np.array([-0.2, 0.3])
    rows = constraint_matrix([{0: -1.0}, {1: 2.0}], 2)
    assert constrained(estimate, np.eye(2), rows).tolist() == [-0.2, 0.3]
    assert constrained(estimate, np.eye(2), constraint_matrix([], 2)) is estimate


def test_a_broken_bound_moves_what_varies_with_it() -> None:
    covariance = np.array([[1.0, 0.5], [0.5, 1.0]])
    found = constrained(np.array([0.4, 0.0]), covariance, constraint_matrix([{0: -1.0}], 2))
    assert found == pytest.approx([0.0, -0.2], abs=1e-12)


def test_a_single_effect_is_put_on_its_bound_exactly() -> None:
    rng = np.random.default_rng(5)
    root = rng.normal(size=(40, 40))
    rows = constraint_matrix([{number: -1.0} for number in range(40)], 40)
    found = constrained(rng.normal(size=40), root @ root.T, rows)
    assert found.max() <= 0.0


def test_a_bound_said_twice_is_no_trouble() -> None:
    rows = constraint_matrix([{0: -1.0}, {0: -1.0}, {0: -2.0}], 1)
    assert constrained(np.array([3.0]), np.eye(1), rows) == pytest.approx([0.0], abs=1e-12)


def test_bounds_that_do_not_settle_are_said_and_never_a_traceback(monkeypatch: pytest.MonkeyPatch) -> None:
    def gives_up(factor: np.ndarray, target: np.ndarray, maxiter: int) -> tuple[np.ndarray, float]:
        raise RuntimeError("Maximum number of iterations reached.")

    monkeypatch.setattr(signs, "nnls", gives_up)
    with pytest.raises(NotConverged, match="did not settle"):
        constrained(np.array([1.0]), np.eye(1), constraint_matrix([{0: -1.0}], 1))


def drawn_effects(design: Design, rng: np.random.Generator, *, like_priors: bool = False) -> np.ndarray:
    """Return random effects moved within the design's bounds: of any sign, or of the priors' signs."""
    estimate, sizes = rng.normal(size=design.columns), rng.uniform(0.1, 2.0, design.columns)
    if like_priors:
        estimate = design.block_table().offset * np.exp(estimate)
    return constrained(estimate, np.diag(sizes), constraint_matrix(design.sign_rows(), design.columns))


@pytest.mark.parametrize("effect", ["raises", "lowers"])
@pytest.mark.parametrize("seed", range(12))
def test_a_number_with_a_direction_keeps_it_between_all_its_points_and_beyond(seed: int, effect: Effect) -> None:
    rng = np.random.default_rng(seed)
    size = rng.lognormal(3, 0.7, 150)
    described = DeviceClass(name="box", attributes=(Attribute(name="size", kind="number", effect=effect),))
    design = learn_design(summarise(sales_of(size, numbers={"size": size}), described), described)
    fine = np.append(np.quantile(size, np.linspace(0, 1, 6001)), [1.5 * size.max(), 2 * size.max()])
    means = design.rows(table_of(len(fine), numbers={"size": fine})).times(drawn_effects(design, rng))
    moves = np.diff(means) * (1 if effect == "raises" else -1)
    assert moves.min() >= -1e-10
    assert moves.max() > 0


def drawn_unit(rng: np.random.Generator) -> dict[str, dict[str, str | None]]:
    """Return a random condition, field by field; the gate never fails, because the model sees to that."""
    described = small_class()
    quiet = ["works", "untested", "impaired"]
    return {
        "faults": {
            function.name: rng.choice(quiet if function.name == GATE else [*quiet, "", "dead", "removed"])
            for function in described.functions
        },
        "marks": {surface.name: rng.choice(["none", "dent", "covered", ""]) for surface in described.surfaces},
        "parts": {part.name: rng.choice(["original", "salvaged"]) for part in described.parts},
        "locks": {lock.name: rng.choice(["free", "not checked"]) for lock in described.locks},
    }


def damaged(unit: dict[str, dict[str, str | None]], rng: np.random.Generator) -> dict[str, dict[str, str | None]]:
    """Return the unit with one thing worse than before."""
    field = str(rng.choice(list(unit)))
    thing = str(rng.choice(list(unit[field])))
    before = unit[field][thing]
    if field == "faults":
        worse = [*FAULT_STATUSES] if before == "works" else ["dead"] if before in ("untested", "") else [before]
        after = rng.choice([each for each in worse if thing != GATE or each not in ("dead", "removed")] or [before])
    elif field == "marks":
        after = "dent+crack" if before == "dent" else "crack"
    else:
        after = {"free": "locked", "not checked": "locked", "original": "third-party"}.get(str(before), before)
    return unit | {field: unit[field] | {thing: after}}


def as_table(units: list[dict[str, dict[str, str | None]]]) -> ConditionTable:
    """Return the units as columns."""
    columns = {
        field: {thing: [str(unit[field][thing]) for unit in units] for thing in units[0][field]} for field in units[0]
    }
    return table_of(len(units), **columns)


@pytest.mark.parametrize("seed", range(8))
def test_no_effects_within_their_bounds_let_damage_raise_the_price(sales: SalesTable, seed: int) -> None:
    rng = np.random.default_rng(seed)
    design = learn_design(summarise(sales, small_class()), small_class())
    effects = drawn_effects(design, rng, like_priors=seed % 2 == 1)
    units = [drawn_unit(rng) for _ in range(UNITS)]
    worse = [damaged(unit, rng) for unit in units]
    change = design.rows(as_table(worse)).times(effects) - design.rows(as_table(units)).times(effects)
    assert change.max() <= 1e-9
    assert change.min() < -0.05
