"""Whether interactions and trees predict sales that the model has not seen, and how much of them to take.

Two members are fitted: main effects, and main effects with all interactions. Each is corrected by trees grown on its
residuals, with the weight in [0, 1] that fits held-out errors best. If the average of both members has the better
interval score on held-out sales, it is taken, else main effects alone: half the variance of each member's own
quirks averages out, which picking one of them would keep.

Source of the score: Gneiting & Raftery (2007), JASA 102:359-378, section 6.2. Averaging instead of picking: Breiman
(1996), Machine Learning 24:49-64, Stacked regressions (from memory), here with equal weights.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pricing.errors import NotConverged, SingularDesign
from pricing.hedonic.conformal import calibrate, interval_score
from pricing.hedonic.design import Design
from pricing.hedonic.fold_fits import FoldFits, added, fit_folds, fold_moments
from pricing.hedonic.gram import RawMoments
from pricing.hedonic.growing import grow
from pricing.hedonic.solution import Solution, solve
from pricing.hedonic.spread import Spread, SpreadBasis, fit_spread
from pricing.hedonic.structure import extended, main_columns
from pricing.hedonic.trees import TreeInputs, Trees, tree_inputs
from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import BoolArray, FloatArray, SalesTable

FEWEST_TO_CHOOSE = 60
_LEVELS = (80, 90)
_LEAST_WEIGHT = 0.3
_FOLDS_BEFORE_GIVING_UP = 2


@dataclass(frozen=True, eq=False)
class Evidence:
    """What members are judged on.

    Attributes:
        sales: At most 200,000 of them.
        device_class: Their class.
        response: shape (rows,), centred ln(price).
        shares: shape (rows,): a_i of the main effects; one over it is the weight of a sale.
        paid: shape (rows,): False for prices only asked, unless all were.
        folds: shape (rows,).
        basis: Of the spread.
        signs: Whether bounds are kept.
    """

    sales: SalesTable
    device_class: DeviceClass
    response: FloatArray
    shares: FloatArray
    paid: BoolArray
    folds: NDArray[np.int64]
    basis: SpreadBasis
    signs: bool


@dataclass(frozen=True, eq=False)
class Member:
    """One structure, fitted, and what it said of the sales that it had not seen.

    Attributes:
        design: The columns.
        solution: The fit to all sales.
        fits: The fits without each fold.
        trees_weight: Of the correction by trees, 0 to 1.
        correction: shape (rows,): by the trees grown without each sale's fold, with its weight.
    """

    design: Design
    solution: Solution
    fits: FoldFits
    trees_weight: float
    correction: FloatArray

    @property
    def mean(self) -> FloatArray:
        """What was said of each held-out sale, shape (rows,)."""
        return self.fits.mean + self.correction


@dataclass(frozen=True, eq=False)
class Judgement:
    """The average of some members, and its errors on held-out sales.

    Attributes:
        members: Main effects first.
        spread: Fitted on the held-out errors, to be read from the columns of the last member.
        error: shape (rows,): ln(price) less what was said.
        share: shape (rows,): a_i from the folds without i.
        fitted_share: shape (rows,): the a_i by which the members were weighted.
        sigma2: Variance of an error of common size, apart from that of the effects.
        deviation: shape (rows,): standard deviation of each error.
        score: Mean interval score at 80 and 90 %, in money.
    """

    members: tuple[Member, ...]
    spread: Spread
    error: FloatArray
    share: FloatArray
    fitted_share: FloatArray
    sigma2: float
    deviation: FloatArray
    score: float

    @property
    def plain(self) -> bool:
        """Whether it is main effects without trees."""
        return len(self.members) == 1 and not self.members[0].trees_weight


def choose(evidence: Evidence, main: Design, *, interactions: bool, trees: bool) -> Judgement:
    """Return what to take.

    Args:
        evidence: Sales to judge by.
        main: The columns of main effects.
        interactions: Whether they may be added.
        trees: Whether they may correct.

    Raises:
        SingularDesign: Not even the main effects can be fitted without some fold.
        NotConverged: The same.
    """
    full = extended(main, evidence.device_class, evidence.sales.condition) if interactions else main
    moments = fold_moments(full, evidence.sales, evidence.response, 1 / evidence.shares, evidence.folds)
    inner = [each.within(main_columns(full, main)) for each in moments]
    simple = judged(evidence, (_member(evidence, main, inner, trees),))
    if full is main:
        return simple
    try:
        other = _member(evidence, full, moments, trees)
    except (SingularDesign, NotConverged):
        return simple  # what cannot be fitted without some fold is no help
    average = judged(evidence, (*simple.members, other))
    return average if average.score < simple.score else simple


def judged(evidence: Evidence, members: tuple[Member, ...]) -> Judgement:
    """Return the average of some members with its score."""
    error = evidence.response - np.mean([each.mean for each in members], axis=0)
    quadratic = np.mean([each.solution.variances.sigma2 * each.fits.quadratic for each in members], axis=0)
    spread, share = fit_spread(evidence.basis, members[-1].design, error, np.zeros(len(error)))
    effect_sigma2 = members[0].solution.variances.sigma2
    sigma2 = float(np.mean(error**2 / (share + quadratic / effect_sigma2)))
    deviation = np.sqrt(sigma2 * share + quadratic)
    paid = evidence.paid
    mean, width, price = (evidence.response - error)[paid], deviation[paid], np.exp(evidence.response[paid])
    calibration = calibrate((error / deviation)[paid], members[0].solution.freedom, means=mean)
    score = 0.0
    for level in _LEVELS:
        low, high = calibration.multiples(level, mean)
        ends = np.exp(mean + low * width), np.exp(mean + high * width)
        score += float(interval_score(*ends, price, 1 - level / 100).mean())
    return Judgement(members, spread, error, share, evidence.shares, sigma2, deviation, score)


def _member(evidence: Evidence, design: Design, moments: Sequence[RawMoments], trees: bool) -> Member:
    """Return a member.

    Raises:
        SingularDesign: Passed on.
        NotConverged: Passed on.
    """
    solution = solve(added(moments), design, signs=evidence.signs)
    fits = fit_folds(design, evidence.sales, moments, evidence.folds, solution, evidence.signs)
    plain = Member(design, solution, fits, 0.0, np.zeros(evidence.sales.rows))
    grown = _grown_without(evidence, plain) if trees else None
    if grown is None:
        return plain
    weights, error = 1 / evidence.shares, evidence.response - fits.mean
    size = float(np.sum(weights * grown**2))
    weight = round(float(np.clip(np.sum(weights * error * grown) / max(size, 1e-300), 0.0, 1.0)), 2)
    if weight < _LEAST_WEIGHT:
        return plain
    return replace(plain, trees_weight=weight, correction=weight * grown)


def _grown_without(evidence: Evidence, member: Member) -> FloatArray | None:
    """Return the correction of each sale by trees grown without its fold; None when they soon prove of no use."""
    sales, folds, weights = evidence.sales, evidence.folds, 1 / evidence.shares
    error, grown = evidence.response - member.fits.mean, np.zeros(sales.rows)
    for fold in range(len(member.fits.effects)):
        effects = member.fits.effects[fold]
        inputs, columns = _inputs(evidence, member.design, effects)
        if not columns.shape[1]:
            return None
        held, kept = np.flatnonzero(folds == fold), np.flatnonzero(folds != fold)
        residuals = evidence.response - _means(member.design, sales, effects)
        trees = grow(columns[kept], inputs, residuals[kept], weights[kept])
        grown[held] = trees.correction(member.design, sales.condition.take(held))
        if fold + 1 == _FOLDS_BEFORE_GIVING_UP:
            seen = folds <= fold
            if float(np.sum((weights * error * grown)[seen])) <= 0:
                return None
    return grown


def _means(design: Design, sales: SalesTable, effects: FloatArray) -> FloatArray:
    found = np.empty(sales.rows)
    for part, raw in design.chunks(sales.condition, sales.asked):
        found[part] = raw.times(effects)
    return found


def _inputs(evidence: Evidence, design: Design, effects: FloatArray) -> tuple[TreeInputs, FloatArray]:
    inputs = tree_inputs(design, evidence.device_class.attributes_by_name, effects)
    return inputs, inputs.columns(design, evidence.sales.condition)


def grow_on_all(evidence: Evidence, member: Member) -> Trees:
    """Return the trees grown on the residuals of all sales."""
    effects = member.solution.effects
    inputs, columns = _inputs(evidence, member.design, effects)
    residuals = evidence.response - _means(member.design, evidence.sales, effects)
    return grow(columns, inputs, residuals, 1 / evidence.shares)
