"""Variance components from cross-products, by restricted maximum likelihood (REML).

Model, for any response y (n,), design X (n, p) and known weights w (n,)::

    y = X b + e,   e_i ~ N(0, s2 / w_i),   b_j ~ N(0, s2 / lambda_block(j)) or free

=========  ======  =======================================================================
symbol     shape   in code
=========  ======  =======================================================================
X'WX       (p, p)  ``Moments.xtx``
X'Wy       (p,)    ``Moments.xty``
y'Wy       ()      ``Moments.yty``
S          (p,)    ``penalty``: lambda of each coefficient's block, 0 where unpenalised
V          (p, p)  ``inverse`` = (X'WX + S)^-1
s2         ()      ``sigma2``, in squared units of y
lambda     (k,)    ``lambdas``, without unit
=========  ======  =======================================================================

Criterion (minus twice the restricted log likelihood, s2 profiled; lme4 prints the same number)::

    (n - p0) (1 + ln(2 pi s2)) + ln|X'WX + S| - ln|S|+ - sum ln w,   s2 = (y'Wy - b'X'Wy) / (n - p0)

The first steps are Fellner-Schall's, lambda <- s2 (q - lambda tr V_jj) / (b_j' b_j), which never leave the
positive side (Wood & Fasiolo 2017, Biometrics 73(4):1071-1081). They end slowly, so Newton steps on
ln(lambda) finish: gradient and Hessian need only V and b, both at hand. Only X'WX, X'Wy and y'Wy are read.
A lambda at its cap is a variance of zero: converged, not failed. Beliefs about a
variance itself (fixed and pooled blocks) speak of s2 / lambda: there s2 is held while the lambdas settle, then
set to the new one, until it stays.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import linalg

from pricing.errors import NotConverged, SingularDesign
from pricing.hedonic.blocks import Block
from pricing.records.sales_table import BoolArray, FloatArray, IntArray

_FIRST_STEPS = 4
_MOST_STEPS = 200
_MOST_ROUNDS = 100
_SWINGS = 10
_STEP_LIMIT = 4.0
_CAP = 1e9
_FLOOR = 1e-9
_NO_VARIANCE = 1e6
_NEARLY_THERE = 0.1


@dataclass(frozen=True, eq=False)
class Moments:
    """Cross-products of a weighted regression.

    Attributes:
        xtx, xty, yty: See the module.
        rows: n.
        log_weights: Sum of ln(w).
    """

    xtx: FloatArray
    xty: FloatArray
    yty: float
    rows: int
    log_weights: float = 0.0


@dataclass(frozen=True, eq=False)
class Variances:
    """The result of REML.

    Attributes:
        coefficients: b, shape (p,).
        inverse: V, shape (p, p); s2 * V is the covariance of b given the data.
        lambdas: shape (blocks,).
        capped: shape (blocks,), True where the variance is zero.
        sigma2: s2.
        criterion: Minus twice the restricted log likelihood (without the priors of pooled and fixed blocks).
        free_columns: p0, the number of unpenalised columns.
        penalty: b' S b, in squared units of y.
        steps: Number of steps taken.
    """

    coefficients: FloatArray
    inverse: FloatArray
    lambdas: FloatArray
    capped: BoolArray
    sigma2: float
    criterion: float
    free_columns: int
    penalty: float
    steps: int

    def block_variance(self, block: int) -> float:
        """Return s2 / lambda of a block, 0 when it is capped."""
        return 0.0 if self.capped[block] else float(self.sigma2 / self.lambdas[block])


@dataclass(frozen=True, eq=False)
class _State:
    lambdas: FloatArray
    coefficients: FloatArray
    inverse: FloatArray
    sigma2: float
    criterion: float


def fit_variances(
    moments: Moments,
    blocks: tuple[Block, ...],
    block_of: IntArray,
    start: FloatArray | None = None,
    *,
    hold: bool = False,
) -> Variances:
    """Fit all variance components.

    Args:
        moments: Cross-products.
        blocks: The blocks.
        block_of: shape (p,), number of each column's block, -1 for no penalty.
        start: shape (blocks,), lambdas to start from.
        hold: Whether they stay as they are: then only effects and error variance are fitted.

    Returns:
        The fitted variances with coefficients and their inverse.

    Raises:
        SingularDesign: The unpenalised columns are not independent of each other.
        NotConverged: No optimum within the largest number of steps.
    """
    problem = _Problem(moments, blocks, block_of)
    if problem.free_rows <= 0:
        raise SingularDesign(f"{moments.rows} rows are too few for {problem.free_columns} free columns")
    # A start at the cap would stay there: its slope is too flat to see. So starts are drawn in a little.
    lambdas = problem.reference if start is None else np.minimum(start, 1e3 * problem.reference)
    lambdas = np.maximum(lambdas, problem.floor)
    if hold and start is not None:
        return _variances(problem, problem.solve(start), 1)
    sigma2, steps = moments.yty / moments.rows, 0
    for number in range(_MOST_ROUNDS):
        problem.held_sigma2 = max(sigma2, 1e-300)
        state, taken = problem.descend(np.where(problem.fixed, problem.held_sigma2, lambdas), number == 0)
        steps += taken
        held = not problem.holds or abs(state.sigma2 - sigma2) <= _held_tolerance(number) * sigma2
        # With few rows the held s2 can swing between two values: after some rounds it meets in the middle.
        lambdas, sigma2 = state.lambdas, state.sigma2 if number < _SWINGS else float(np.sqrt(sigma2 * state.sigma2))
        if held:
            break
    else:
        raise NotConverged(f"the error variance did not settle in {_MOST_ROUNDS} rounds")
    return _variances(problem, state, steps)


def _variances(problem: _Problem, state: _State, steps: int) -> Variances:
    return Variances(
        coefficients=state.coefficients,
        inverse=state.inverse,
        lambdas=state.lambdas,
        capped=(state.lambdas >= _NO_VARIANCE * problem.reference) & ~problem.fixed & (problem.prior == 0),
        sigma2=state.sigma2,
        criterion=state.criterion,
        free_columns=problem.free_columns,
        penalty=problem.penalty(state),
        steps=steps,
    )


def _held_tolerance(number: int) -> float:
    """Return how far the held s2 may be off after so many rounds, relative.

    It enters beliefs only, where so small a change moves nothing; on a very flat optimum it keeps a last wobble.
    """
    return 1e-7 if number < 2 * _SWINGS else 1e-5


class _Problem:
    """The fixed part of one REML fit: cross-products, blocks, caps."""

    def __init__(self, moments: Moments, blocks: tuple[Block, ...], block_of: IntArray) -> None:
        self.moments = moments
        self.block_of = block_of
        self.count = len(blocks)
        self.columns = [np.flatnonzero(block_of == number) for number in range(self.count)]
        self.order = np.concatenate(self.columns) if self.count else np.empty(0, dtype=np.intp)
        self.sizes = np.array([len(columns) for columns in self.columns], dtype=np.float64)
        diagonal = np.diag(moments.xtx)
        least = 1e-12 * max(float(diagonal.max(initial=0.0)), 1e-300)
        scale = np.array([max(float(diagonal[c].mean()), least) if len(c) else 1.0 for c in self.columns])
        self.reference = scale * 0.1 if self.count else np.empty(0)
        self.cap = scale * _CAP if self.count else np.empty(0)
        least_lambda = np.array([block.least for block in blocks])
        self.floor = np.maximum(scale * _FLOOR, least_lambda) if self.count else np.empty(0)
        self.reference = np.maximum(self.reference, self.floor)
        self.fixed = np.array([block.kind == "fixed" for block in blocks], dtype=bool)
        self.prior = np.array([block.prior_count if block.kind == "pooled" else 0.0 for block in blocks])
        self.holds = bool(self.fixed.any() or self.prior.any())
        self.held_sigma2 = 1.0
        self.free_columns = int(np.count_nonzero(block_of < 0))
        self.free_rows = moments.rows - self.free_columns

    def descend(self, lambdas: FloatArray, afresh: bool) -> tuple[_State, int]:
        """Walk from ``lambdas`` to the optimum of all blocks that are not fixed; return it and the steps.

        Args:
            lambdas: shape (blocks,).
            afresh: Whether Fellner-Schall steps come first; near an optimum they only lose digits.

        Raises:
            NotConverged: No optimum within the largest number of steps.
        """
        state = self.solve(lambdas)
        if self.fixed.all():
            return state, 1
        for step in range(_MOST_STEPS):
            first = afresh and step < _FIRST_STEPS
            proposed, gradient = self.fellner_schall(state) if first else self.newton(state)
            moved = self.solve_no_worse(state, proposed)
            if moved is state:
                moved = self.solve_no_worse(state, self.downhill(state, gradient))
            settled = not first and self.settled(state, moved, gradient)
            state = moved
            if settled:
                return state, step + 1
        raise NotConverged(f"the variance components did not settle in {_MOST_STEPS} steps")

    def solve(self, lambdas: FloatArray) -> _State:
        """Solve the penalised normal equations.

        Raises:
            SingularDesign: The matrix has no Cholesky factor.
        """
        penalty = np.zeros(len(self.block_of))
        penalised = self.block_of >= 0
        if self.count:
            penalty[penalised] = lambdas[self.block_of[penalised]]
        matrix = self.moments.xtx + np.diag(penalty)
        # Jacobi scaling keeps the factor well conditioned when lambdas span many powers of ten.
        root = np.sqrt(np.maximum(np.diag(matrix), 1e-300))
        try:
            factor = linalg.cholesky(matrix / np.outer(root, root), lower=True)
        except linalg.LinAlgError as error:
            raise SingularDesign("columns of the design say the same thing") from error
        inverse, _ = linalg.lapack.dpotri(factor, lower=1)
        inverse = (np.tril(inverse) + np.tril(inverse, -1).T) / np.outer(root, root)
        coefficients = linalg.cho_solve((factor, True), self.moments.xty / root) / root
        penalised_rss = self.moments.yty - float(coefficients @ self.moments.xty)
        # What is left of y'Wy below its own rounding is noise, even of the wrong sign.
        new_sigma2 = max(penalised_rss, 1e-15 * self.moments.yty, 1e-300) / self.free_rows
        log_det = 2 * float(np.sum(np.log(np.diag(factor)) + np.log(root)))
        criterion = self.free_rows * (1 + np.log(2 * np.pi * new_sigma2)) + log_det
        criterion -= float(np.sum(self.sizes * np.log(lambdas))) + self.moments.log_weights
        return _State(lambdas, coefficients, inverse, new_sigma2, float(criterion))

    def solve_no_worse(self, state: _State, proposed: FloatArray) -> _State:
        """Take the step, halved while it makes the criterion worse; stay where no part of it helps."""
        before = self.objective(state)
        for halving in range(12):
            share = 0.5**halving
            lambdas = np.exp((1 - share) * np.log(state.lambdas) + share * np.log(proposed))
            moved = self.solve(lambdas)
            if self.objective(moved) <= before + 1e-12 * (1 + abs(before)):
                return moved
        return state

    def objective(self, state: _State) -> float:
        """Return the criterion with the priors of pooled blocks."""
        if not self.prior.any():
            return state.criterion
        ratio = state.lambdas / self.held_sigma2
        return state.criterion + float(np.sum(self.prior * (ratio - np.log(ratio))))

    def _traces(self, state: _State) -> tuple[FloatArray, FloatArray]:
        diagonal = np.diag(state.inverse)
        trace = np.array([float(diagonal[columns].sum()) for columns in self.columns])
        square = np.array([float(state.coefficients[columns] @ state.coefficients[columns])
                           for columns in self.columns])  # fmt: skip
        return trace, square

    def penalty(self, state: _State) -> float:
        """Return b' S b."""
        _, square = self._traces(state)
        return float(np.sum(state.lambdas * square))

    def gradient(self, state: _State) -> FloatArray:
        """Return d(objective) / d ln(lambda), shape (blocks,); 0 for fixed blocks."""
        trace, square = self._traces(state)
        slope = state.lambdas * (trace + square / state.sigma2) - self.sizes
        slope += self.prior * (state.lambdas / self.held_sigma2 - 1)
        return np.where(self.fixed, 0.0, slope)

    def fellner_schall(self, state: _State) -> tuple[FloatArray, FloatArray]:
        """Return the next lambdas by Fellner-Schall's rule and the gradient here."""
        trace, square = self._traces(state)
        freedom = np.maximum(self.sizes - state.lambdas * trace, 1e-12) + self.prior
        spent = square + self.prior
        proposed = state.sigma2 * freedom / np.maximum(spent, 1e-300)
        step = np.clip(np.log(proposed / state.lambdas), -_STEP_LIMIT, _STEP_LIMIT)
        return self._bounded(state, step), self.gradient(state)

    def newton(self, state: _State) -> tuple[FloatArray, FloatArray]:
        """Return the next lambdas by a safeguarded Newton step on ln(lambda), and the gradient here."""
        slope = self.gradient(state)
        # Blocks about to hit their floor go there by themselves: the others must not count on their moving on.
        free = self._movable(state, slope, _NEARLY_THERE)
        down = self._pressed_down(state, slope, _NEARLY_THERE) & ~self.fixed
        step = np.where(down, np.log(self.floor / state.lambdas), 0.0)
        if free.any():
            hessian = self._hessian(state)[np.ix_(free, free)]
            sizes, directions = linalg.eigh(hessian)
            # Where the criterion bends the wrong way, or hardly, walk downhill by the size of the bend.
            bend = np.maximum(np.abs(sizes), 1e-8 * max(float(np.abs(sizes).max()), 1e-8))
            step[free] = -directions @ ((directions.T @ slope[free]) / bend)
        # A variance that the data put at zero creeps towards the cap by ever smaller slopes: send it there.
        vanishing = (state.lambdas > 1e4 * self.reference) & (slope < 0) & (slope > -1e-4) & (self.prior == 0)
        # Shortened as a whole: cut one by one, the step could point uphill.
        step = step * min(1.0, _STEP_LIMIT / max(float(np.abs(step).max()), 1e-300))
        step = np.where(vanishing & ~self.fixed, np.log(self.cap / state.lambdas), step)
        return self._bounded(state, step), slope

    def downhill(self, state: _State, slope: FloatArray) -> FloatArray:
        """Return a step against the gradient: near a floor, where a Newton step is cut, this one still descends."""
        return self._bounded(state, -slope / max(float(np.abs(slope).max()), 1e-300))

    def _hessian(self, state: _State) -> FloatArray:
        trace, square = self._traces(state)
        lambdas, sigma2 = state.lambdas, state.sigma2
        own = state.inverse[np.ix_(self.order, self.order)]
        slopes = lambdas[self.block_of[self.order]] * state.coefficients[self.order]
        squares = self._block_sums(own * own)
        crossed = self._block_sums(own * np.outer(slopes, slopes))
        hessian = -np.outer(lambdas, lambdas) * squares - 2 * crossed / sigma2
        shares = lambdas * square / sigma2
        hessian -= np.outer(shares, shares) / self.free_rows
        hessian[np.diag_indices(self.count)] += lambdas * (trace + square / sigma2)
        hessian[np.diag_indices(self.count)] += self.prior * lambdas / self.held_sigma2
        return hessian

    def _block_sums(self, matrix: FloatArray) -> FloatArray:
        """Return the sum of each pair of blocks of a matrix in ``order``, shape (blocks, blocks)."""
        found = np.zeros((self.count, self.count))
        filled = np.flatnonzero(self.sizes)
        starts = np.concatenate([[0], np.cumsum(self.sizes[filled])[:-1]]).astype(np.intp)
        if len(filled):
            sums = np.add.reduceat(np.add.reduceat(matrix, starts, axis=0), starts, axis=1)
            found[np.ix_(filled, filled)] = sums
        return found

    def _movable(self, state: _State, slope: FloatArray, near: float = 1e-9) -> BoolArray:
        """Return the blocks that are neither fixed nor pressed against a bound, shape (blocks,).

        Args:
            state: Where.
            slope: shape (blocks,).
            near: How near a bound counts as at it, relative; a bound is never hit to the last digit.
        """
        return ~(self.fixed | self._pressed_up(state, slope, near) | self._pressed_down(state, slope, near))

    def _pressed_up(self, state: _State, slope: FloatArray, near: float) -> BoolArray:
        return np.asarray((state.lambdas >= self.cap * (1 - near)) & (slope <= 0))

    def _pressed_down(self, state: _State, slope: FloatArray, near: float) -> BoolArray:
        return np.asarray((state.lambdas <= self.floor * (1 + near)) & (slope >= 0))

    def _bounded(self, state: _State, step: FloatArray) -> FloatArray:
        moved = np.clip(state.lambdas * np.exp(step), self.floor, self.cap)
        return np.where(self.fixed, state.lambdas, moved)

    def settled(self, before: _State, after: _State, slope: FloatArray) -> bool:
        """Return whether the step changed nothing that matters."""
        inner = self._movable(after, slope)
        steep = float(np.abs(slope[inner]).max()) if inner.any() else 0.0
        same = abs(self.objective(after) - self.objective(before)) <= 1e-11 * (1 + abs(after.criterion))
        return steep < 1e-6 or (same and steep < 1e-3)
