from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy import optimize

from pricing.errors import SingularDesign
from pricing.hedonic.blocks import UNPENALISED, Block
from pricing.hedonic.reml import Moments, _Problem, fit_variances
from tests.counts import count

PROBLEMS = 120


@dataclass(frozen=True)
class Problem:
    """A small mixed model with its data."""

    columns: np.ndarray
    response: np.ndarray
    weights: np.ndarray
    block_of: np.ndarray
    blocks: tuple[Block, ...]

    @property
    def moments(self) -> Moments:
        weighted = self.columns * self.weights[:, None]
        return Moments(
            xtx=self.columns.T @ weighted,
            xty=weighted.T @ self.response,
            yty=float(self.response @ (self.weights * self.response)),
            rows=len(self.response),
            log_weights=float(np.log(self.weights).sum()),
        )

    def fit(self):
        return fit_variances(self.moments, self.blocks, self.block_of)

    def criterion(self, lambdas: np.ndarray) -> float:
        """The textbook's form, by the n x n covariance of y: nothing in common with the code's."""
        free, rest = self.columns[:, self.block_of < 0], self.columns[:, self.block_of >= 0]
        scaled = rest / lambdas[self.block_of[self.block_of >= 0]]
        covariance = np.diag(1 / self.weights) + scaled @ rest.T
        solved = np.linalg.solve(covariance, np.column_stack([free, self.response]))
        inner = free.T @ solved[:, :-1]
        effects = np.linalg.solve(inner, free.T @ solved[:, -1])
        freedom = len(self.response) - free.shape[1]
        sigma2 = float((self.response - free @ effects) @ (solved[:, -1] - solved[:, :-1] @ effects)) / freedom
        return float(
            freedom * (1 + np.log(2 * np.pi * sigma2))
            + np.linalg.slogdet(covariance)[1]
            + np.linalg.slogdet(inner)[1]
        )


def random_problem(seed: int, kinds: tuple[str, ...] = ("free", "free")) -> Problem:
    """Draw groups, slopes and weights; spreads from none to large."""
    rng = np.random.default_rng(seed)
    rows, sizes = int(rng.integers(25, 60)), rng.integers(3, 8, len(kinds))
    dense = np.column_stack([np.ones(rows), rng.normal(size=rows)])
    response, columns, block_of = dense @ [1.0, 0.5], [dense], [UNPENALISED] * 2
    for number, size in enumerate(sizes):
        level = rng.integers(0, size, rows)
        response = response + rng.choice([0.0, 0.3, 2.0]) * rng.normal(size=size)[level]
        columns.append(np.eye(size)[level])
        block_of += [number] * int(size)
    weights = rng.uniform(0.3, 3.0, rows)
    response = response + rng.normal(size=rows) / np.sqrt(weights)
    blocks = tuple(Block(str(number), kind, 4.0) for number, kind in enumerate(kinds))  # type: ignore[arg-type]
    return Problem(np.hstack(columns), response, weights, np.array(block_of, dtype=np.int32), blocks)


@pytest.mark.parametrize("seed", range(count(PROBLEMS)))
def test_the_criterion_is_the_textbooks_and_never_worse_than_a_simplex_search_finds(seed: int) -> None:
    problem = random_problem(seed)
    found = problem.fit()
    assert found.criterion == pytest.approx(problem.criterion(found.lambdas), abs=1e-5)
    best = optimize.minimize(
        lambda ln: problem.criterion(np.exp(np.clip(ln, -15, 15))),
        np.zeros(2),
        method="Nelder-Mead",
        options={"xatol": 1e-6, "fatol": 1e-9, "maxfev": 2000},
    )
    assert found.criterion <= best.fun + 1e-5


@pytest.mark.parametrize("seed", range(20))
def test_the_gradient_is_the_slope_of_the_criterion(seed: int) -> None:
    problem = random_problem(seed, ("free", "pooled"))
    inside = _Problem(problem.moments, problem.blocks, problem.block_of)
    inside.held_sigma2 = 0.7
    place, step = np.random.default_rng(seed).normal(size=2), 1e-5

    def objective(ln: np.ndarray) -> float:
        ratio = np.exp(ln[1]) / 0.7
        return problem.criterion(np.exp(ln)) + 4.0 * float(ratio - np.log(ratio))

    slopes = [
        (objective(place + move) - objective(place - move)) / (2 * step) for move in step * np.eye(2)
    ]
    assert inside.gradient(inside.solve(np.exp(place))) == pytest.approx(slopes, abs=2e-5, rel=1e-5)


@pytest.mark.parametrize("seed", range(10))
def test_the_hessian_is_the_slope_of_the_gradient(seed: int) -> None:
    problem = random_problem(seed, ("free", "pooled", "free"))
    inside = _Problem(problem.moments, problem.blocks, problem.block_of)
    inside.held_sigma2 = 0.7
    place, step = np.random.default_rng(seed).normal(size=3), 1e-5
    slopes = np.array([
        (inside.gradient(inside.solve(np.exp(place + move))) - inside.gradient(inside.solve(np.exp(place - move))))
        / (2 * step)
        for move in step * np.eye(3)
    ])  # fmt: skip
    found = inside._hessian(inside.solve(np.exp(place)))
    assert found == pytest.approx(slopes, abs=1e-6, rel=1e-6)
    assert found == pytest.approx(found.T)


def test_block_sums_add_up_each_pair_of_blocks_with_none_for_an_empty_one() -> None:
    problem = random_problem(0)
    block_of = np.array([UNPENALISED, 2, 0, 2, 0, 2], dtype=np.int32)
    columns = np.random.default_rng(0).normal(size=(30, 6))
    blocks = (Block("a"), Block("empty"), Block("c"))
    mixed = replace(problem, columns=columns, response=columns[:, 1], weights=np.ones(30), block_of=block_of)
    inside = _Problem(mixed.moments, blocks, block_of)
    matrix = np.arange(25.0).reshape(5, 5)
    members = block_of[inside.order]
    expected = [[matrix[np.ix_(members == left, members == right)].sum() for right in range(3)] for left in range(3)]
    assert inside._block_sums(matrix).tolist() == expected


def test_variances_that_are_held_stay_and_only_effects_and_the_error_are_fitted() -> None:
    problem = random_problem(4)
    lambdas = np.array([0.3, 7.0])
    held = fit_variances(problem.moments, problem.blocks, problem.block_of, lambdas, hold=True)
    assert held.lambdas.tolist() == lambdas.tolist()
    assert held.criterion == pytest.approx(problem.criterion(lambdas))
    penalty = np.where(problem.block_of < 0, 0.0, lambdas[problem.block_of])
    matrix = problem.moments.xtx + np.diag(penalty)
    assert held.coefficients == pytest.approx(np.linalg.solve(matrix, problem.moments.xty))
    assert held.steps == 1


@pytest.mark.parametrize("seed", range(10))
def test_coefficients_and_their_covariance_solve_the_penalised_equations(seed: int) -> None:
    problem = random_problem(seed)
    found = problem.fit()
    penalty = np.where(problem.block_of < 0, 0.0, found.lambdas[problem.block_of])
    matrix = problem.moments.xtx + np.diag(penalty)
    assert matrix @ found.coefficients == pytest.approx(problem.moments.xty, rel=1e-7, abs=1e-7)
    assert found.inverse @ matrix == pytest.approx(np.eye(len(matrix)), abs=1e-6)
    assert found.penalty == pytest.approx(float(found.coefficients @ (penalty * found.coefficients)))


def test_groups_with_equal_means_have_no_variance() -> None:
    rng = np.random.default_rng(0)
    level = np.repeat(np.arange(5), 8)
    noise = rng.normal(size=(5, 8))
    response = (noise - noise.mean(axis=1, keepdims=True)).ravel()
    columns = np.hstack([np.ones((40, 1)), np.eye(5)[level]])
    block_of = np.array([UNPENALISED, 0, 0, 0, 0, 0], dtype=np.int32)
    found = Problem(columns, response, np.ones(40), block_of, (Block("level"),)).fit()
    assert found.capped.tolist() == [True]
    assert found.block_variance(0) == 0.0
    assert np.abs(found.coefficients[1:]).max() < 1e-6


def test_a_fixed_block_has_variance_1_whatever_the_error_is() -> None:
    for scale in (0.1, 1.0, 5.0):
        problem = random_problem(3, ("free", "fixed"))
        found = replace(problem, response=problem.response * scale).fit()
        assert found.block_variance(1) == pytest.approx(1.0, rel=1e-5)


def test_belief_draws_a_pooled_variance_to_1_and_more_belief_draws_it_nearer() -> None:
    problem = random_problem(7, ("free", "pooled"))
    distances = []
    for belief in (0.5, 5.0, 5000.0):
        blocks = (problem.blocks[0], Block("1", "pooled", belief))
        variance = replace(problem, blocks=blocks).fit().block_variance(1)
        distances.append(abs(np.log(variance)))
    assert distances[0] > distances[1] > distances[2]
    assert distances[2] < 0.01


def test_a_least_lambda_is_a_floor() -> None:
    problem = random_problem(11)
    loud = replace(problem, response=problem.response + 300.0 * problem.columns[:, 2])
    assert loud.fit().lambdas[0] < 1e-3
    bounded = replace(loud, blocks=(Block("0", least=1e-2), Block("1")))
    assert bounded.fit().lambdas[0] == pytest.approx(1e-2)


def test_a_response_in_other_units_gives_the_same_lambdas() -> None:
    problem = random_problem(2)
    found, scaled = problem.fit(), replace(problem, response=1000 * problem.response).fit()
    assert scaled.lambdas == pytest.approx(found.lambdas, rel=1e-4)
    assert scaled.sigma2 == pytest.approx(1e6 * found.sigma2, rel=1e-6)
    assert scaled.coefficients == pytest.approx(1000 * found.coefficients, rel=1e-3, abs=1e-3)


def test_known_spreads_are_found_again_when_there_are_many_groups() -> None:
    rng = np.random.default_rng(1)
    level = np.repeat(np.arange(300), 6)
    response = 0.5 * rng.normal(size=300)[level] + 0.2 * rng.normal(size=1800)
    columns = np.hstack([np.ones((1800, 1)), np.eye(300)[level]])
    block_of = np.array([UNPENALISED] + [0] * 300, dtype=np.int32)
    found = Problem(columns, response, np.ones(1800), block_of, (Block("level"),)).fit()
    assert np.sqrt(found.block_variance(0)) == pytest.approx(0.5, abs=0.07)
    assert np.sqrt(found.sigma2) == pytest.approx(0.2, abs=0.01)


def test_without_blocks_the_fit_is_least_squares() -> None:
    problem = random_problem(5)
    plain = Problem(problem.columns[:, :2], problem.response, np.ones(len(problem.response)), np.full(2, -1), ())
    expected = np.linalg.lstsq(plain.columns, plain.response, rcond=None)[0]
    assert plain.fit().coefficients == pytest.approx(expected)


def test_free_columns_that_say_the_same_or_outnumber_the_rows_are_refused() -> None:
    rng = np.random.default_rng(0)
    same = np.ones((10, 2))
    for columns, words in ((same, "same thing"), (rng.normal(size=(3, 3)), "too few")):
        rows = len(columns)
        broken = Problem(columns, rng.normal(size=rows), np.ones(rows), np.full(columns.shape[1], -1), ())
        with pytest.raises(SingularDesign, match=words):
            broken.fit()
