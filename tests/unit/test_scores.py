"""Scores of held-out sales: each sale in closed form, whole groups at once."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pricing.hedonic.conformal import FEWEST_OF_A_CLASS, calibrate, calibrate_groups
from pricing.hedonic.design import learn_design
from pricing.hedonic.gram import sales_moments
from pricing.hedonic.growing import grow
from pricing.hedonic.level_term import FEW_LEVELS, LevelTerm
from pricing.hedonic.model import THIN
from pricing.hedonic.ranks import rank_keys, rank_order
from pricing.hedonic.recipe import CORE, FitSettings, Fitted, fit_steps
from pricing.hedonic.scores import Scores, held_out_scores, optimism, support_calibrations
from pricing.hedonic.solution import solve
from pricing.hedonic.structure import Structure
from pricing.hedonic.summary import summarise
from pricing.hedonic.trees import tree_inputs
from pricing.records.device_class import Attribute, DeviceClass
from pricing.records.sales_table import SalesTable
from tests.market import sales_of, words

BOX = DeviceClass(name="box", attributes=(Attribute(name="maker", kind="group"),
                                          Attribute(name="model", kind="group", within="maker"),
                                          Attribute(name="size", kind="number")))  # fmt: skip
TOOL = DeviceClass(name="tool", attributes=(BOX.attributes[0], BOX.attributes[2]))
MAKERS = 12
FREE = replace(CORE, signs=False)


def boxes(rows: int = 330, *, makers: int = MAKERS, seed: int = 0, sure: float = 0.1) -> SalesTable:
    """Return sales of makers with two models each; errors grow with size, and one price in six was only asked."""
    rng = np.random.default_rng(seed)
    maker, model = rng.integers(0, makers, rows), rng.integers(0, 2, rows)
    size = rng.uniform(1, 9, rows)
    price_log = 4 + 0.3 * rng.normal(size=makers)[maker] + 0.2 * rng.normal(size=(makers, 2))[maker, model]
    price_log += 0.1 * size + sure * np.exp(0.15 * (size - 5)) * rng.standard_normal(rows)
    texts = {"maker": [f"M{each}" for each in maker], "model": [f"X{each}" for each in model]}
    sales = sales_of(np.exp(price_log).tolist(), numbers={"size": size}, texts=texts)
    sales = replace(sales, asked=rng.random(rows) < 1 / 6)
    return sales.take(rank_order(rank_keys(sales)))


def sloped(rows: int = 360, makers: int = 24, seed: int = 0) -> SalesTable:
    """Return sales of which each maker prices size in its own way."""
    rng = np.random.default_rng(seed)
    maker, size = rng.integers(0, makers, rows), rng.normal(size=rows)
    price_log = 4 + 0.3 * rng.normal(size=makers)[maker] + (0.1 + 0.2 * rng.normal(size=makers)[maker]) * size
    price = np.exp(price_log + 0.1 * rng.standard_normal(rows))
    sales = sales_of(price.tolist(), numbers={"size": size}, texts={"maker": [f"M{each}" for each in maker]})
    return sales.take(rank_order(rank_keys(sales)))


def fitted_to(sales: SalesTable, settings: FitSettings = FREE) -> Fitted:
    of = BOX if "model" in sales.condition.texts else TOOL
    response = np.log(sales.price) - np.log(sales.price).mean()
    return fit_steps(sales, response, learn_design(summarise(sales, of), of), of, 0, settings)


def scores_of(fitted: Fitted) -> Scores:
    return held_out_scores(fitted, fitted.solution.variances.sigma2, BOX)


def errors_without(fitted: Fitted, rows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return errors of some sales, and their variance from the effects, by real fits without all of them.

    Variance components stay. Of an average, each member is fitted anew and says its own.
    """
    sales, found = fitted.sales, []
    shares = fitted.shares if fitted.best is None else fitted.best.fitted_share
    kept, part = np.setdiff1d(np.arange(sales.rows), rows), sales.take(rows)
    for design, whole in fitted.members:
        moments = sales_moments(design, sales.take(kept), fitted.response[kept], 1 / shares[kept])
        solution = solve(moments, design, start=whole.variances.lambdas, signs=False, hold=True)
        raw = design.rows(part.condition, part.asked).to_dense()
        reach = whole.variances.sigma2 * np.einsum("ij,jk,ik->i", raw, solution.inverse, raw)
        found.append((fitted.response[rows] - raw @ solution.effects, reach))
    error, reach = np.mean(found, axis=0)
    return error, reach


def scores_without(fitted: Fitted, scores: Scores, rows: np.ndarray) -> np.ndarray:
    error, reach = errors_without(fitted, rows)
    return np.asarray(error / np.sqrt(scores.sigma2 * fitted.shares[rows] + reach))


def groups_of(fitted: Fitted) -> list[np.ndarray]:
    """Return the rows of each maker, then of each model, the smaller groups first."""
    found = []
    for term in fitted.design.terms:
        if isinstance(term, LevelTerm):
            numbers = term.numbers(fitted.sales.condition)
            rows = [np.flatnonzero(numbers == level) for level in range(len(term.levels))]
            found += sorted(rows, key=len)
    return found


@pytest.fixture(scope="module")
def fitted() -> Fitted:
    return fitted_to(boxes())


def test_a_group_left_out_in_closed_form_scores_as_by_a_real_fit_without_it(fitted: Fitted) -> None:
    scores, groups = scores_of(fitted), groups_of(fitted)
    assert len(groups) == 3 * MAKERS >= FEW_LEVELS
    assert np.ptp(fitted.shares) > 0.1
    paid = ~fitted.sales.asked
    real = [scores_without(fitted, scores, rows)[paid[rows]] for rows in groups]
    found = support_calibrations(fitted, scores, BOX)["unseen"]
    expected = calibrate_groups(real, fitted.solution.freedom)
    assert found.scores == pytest.approx(np.sort(np.concatenate(real)), rel=1e-5, abs=1e-6)
    assert found.low == pytest.approx(expected.low, rel=1e-5)
    assert found.high == pytest.approx(expected.high, rel=1e-5)
    # Knowing the others of a group is no small thing: without them errors are far larger.
    far = np.concatenate([errors_without(fitted, rows)[0] for rows in groups])
    assert np.std(far) > 1.5 * np.std(scores.held.error)


def test_a_group_left_out_of_an_average_is_left_out_of_each_member() -> None:
    """Sizes matter more to some makers than to others, so the average with slopes is taken."""
    fitted = fitted_to(sloped(), replace(FREE, interactions=True))
    assert fitted.structure.interactions
    assert len(fitted.members) == 2
    scores = held_out_scores(fitted, fitted.members[0][1].variances.sigma2, TOOL)
    term = next(term for term in fitted.design.terms if isinstance(term, LevelTerm))
    numbers = term.numbers(fitted.sales.condition)
    real = [scores_without(fitted, scores, np.flatnonzero(numbers == level)) for level in range(len(term.levels))]
    found = support_calibrations(fitted, scores, TOOL)["unseen"]
    assert found.scores == pytest.approx(np.sort(np.concatenate(real)), rel=1e-5, abs=1e-6)


def test_trees_price_a_group_left_out_by_the_code_of_a_level_never_seen() -> None:
    """Their correction goes on after the group is left out; it is no part of what the effects were fitted to."""
    plain = fitted_to(sloped())
    scores = scores_of(plain)
    names = TOOL.attributes_by_name
    columns = tree_inputs(plain.design, names, plain.solution.effects)
    seen = columns.columns(plain.design, plain.sales.condition)
    trees = grow(seen, columns, plain.response, np.ones(plain.sales.rows))
    half = replace(plain, trees=(trees,), structure=Structure(trees_weights=(0.5,)))
    term = next(term for term in plain.design.terms if isinstance(term, LevelTerm))
    never = words(*["never"] * plain.sales.rows)
    correction = 0.5 * trees.correction(plain.design, replace(plain.sales.condition, texts={"maker": never}))
    assert np.ptp(correction) > 0.1
    real = []
    for level in range(len(term.levels)):
        rows = np.flatnonzero(term.numbers(plain.sales.condition) == level)
        error, reach = errors_without(plain, rows)
        real.append((error - correction[rows]) / np.sqrt(scores.sigma2 * plain.shares[rows] + reach))
    found = support_calibrations(half, scores, TOOL)["unseen"]
    assert found.scores == pytest.approx(np.sort(np.concatenate(real)), rel=1e-5, abs=1e-6)


def test_a_sale_left_out_in_closed_form_scores_as_by_a_real_fit_without_it(fitted: Fitted) -> None:
    scores = scores_of(fitted)
    paid = np.flatnonzero(~fitted.sales.asked)
    factor = optimism(fitted.solution, fitted.sales.rows)
    for place in range(0, len(paid), 9):
        row = paid[place : place + 1]
        assert scores.held.score[place] == pytest.approx(factor * scores_without(fitted, scores, row)[0], rel=1e-6)
        error = float(errors_without(fitted, row)[0][0])
        assert scores.held.error[place] == pytest.approx(error, rel=1e-6)
        assert scores.held.mean[place] == pytest.approx(fitted.response[row][0] - error, rel=1e-6)


def test_only_prices_that_were_paid_have_scores_unless_none_was(fitted: Fitted) -> None:
    sales = fitted.sales
    assert 0 < np.count_nonzero(sales.asked) < sales.rows
    assert len(scores_of(fitted).held.score) == np.count_nonzero(~sales.asked)
    asked = replace(sales, asked=np.ones(sales.rows, dtype=np.bool_))
    assert len(scores_of(fitted_to(asked)).held.score) == sales.rows


def test_others_counts_the_other_sales_of_the_rarest_level(fitted: Fitted) -> None:
    texts, paid = fitted.sales.condition.texts, np.flatnonzero(~fitted.sales.asked)
    words = [(texts["maker"].word(row), texts["model"].word(row)) for row in range(fitted.sales.rows)]
    expected = [words.count(words[row]) - 1 for row in paid]
    assert scores_of(fitted).held.others.tolist() == expected


def test_without_groups_a_sale_has_others_without_end() -> None:
    sales = boxes(60)
    plain = replace(sales, condition=replace(sales.condition, texts={}))
    assert np.isinf(scores_of(fitted_to(plain)).held.others).all()


def test_few_groups_or_few_scores_have_no_quantiles_of_their_own(fitted: Fitted) -> None:
    for sales in (boxes(400, makers=6), boxes(230, makers=30)):
        few = fitted_to(sales)
        groups, paid = len(groups_of(few)), np.count_nonzero(~sales.asked)
        assert groups < FEW_LEVELS or 2 * paid >= FEWEST_OF_A_CLASS
        assert ("unseen" in support_calibrations(few, scores_of(few), BOX)) is (groups >= FEW_LEVELS)
    assert set(support_calibrations(fitted, scores_of(fitted), BOX)) == {"unseen"}


def test_thin_and_seen_sales_have_quantiles_of_their_own_scores_when_there_are_enough() -> None:
    many = fitted_to(boxes(900, makers=90))
    scores = scores_of(many)
    held, found = scores.held, support_calibrations(many, scores, BOX)
    thin, seen = (held.others >= 1) & (held.others <= THIN), held.others > THIN
    assert min(np.count_nonzero(thin), np.count_nonzero(seen)) >= FEWEST_OF_A_CLASS
    assert np.count_nonzero(held.others == 0) > 0
    freedom = many.solution.freedom
    assert np.array_equal(found["thin"].high, calibrate(held.score[thin], freedom).high)
    expected = calibrate(held.score[seen], freedom, means=held.mean[seen])
    assert np.array_equal(found["seen"].low, expected.low)
    assert np.array_equal(found["seen"].places, expected.places)
