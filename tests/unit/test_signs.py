from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import optimize, sparse

from pricing.hedonic.signs import constrained, constraint_matrix
from tests.counts import count

PROBLEMS = 300


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
