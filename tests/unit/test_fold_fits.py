"""Fits without a fold equal real fits without its sales."""

from __future__ import annotations

import numpy as np
import pytest

from pricing.hedonic import fold_fits
from pricing.hedonic.design import Design, learn_design
from pricing.hedonic.fold_fits import FoldFits, added, fit_folds, fold_moments
from pricing.hedonic.folds import fold_numbers
from pricing.hedonic.gram import RawMoments, sales_moments
from pricing.hedonic.solution import Solution, solve
from pricing.hedonic.structure import extended
from pricing.hedonic.summary import summarise
from pricing.records.sales_table import SalesTable
from tests.builders import small_class
from tests.market import small_sales

FOLDS = 4


class Setting:
    """Sales in folds with a fit to all of them."""

    def __init__(self, sales: SalesTable, *, full: bool = False) -> None:
        self.sales = sales
        self.response = np.log(sales.price) - np.log(sales.price).mean()
        self.weights = np.random.default_rng(1).uniform(0.5, 2.0, sales.rows)
        self.folds = fold_numbers(sales, FOLDS, 0)
        main = learn_design(summarise(sales, small_class()), small_class())
        self.design: Design = extended(main, small_class(), sales.condition) if full else main
        self.parts: list[RawMoments] = fold_moments(self.design, sales, self.response, self.weights, self.folds)
        self.whole: Solution = solve(added(self.parts), self.design)

    def fitted(self, signs: bool = True) -> FoldFits:
        return fit_folds(self.design, self.sales, self.parts, self.folds, self.whole, signs)

    def real(self, fold: int, *, hold: bool, signs: bool = True) -> tuple[Solution, np.ndarray, np.ndarray]:
        """Return a fit to the sales of the other folds, and what it says of this one's: r beta and r'V r."""
        kept, mine = np.flatnonzero(self.folds != fold), np.flatnonzero(self.folds == fold)
        moments = sales_moments(self.design, self.sales.take(kept), self.response[kept], self.weights[kept])
        found = solve(moments, self.design, start=self.whole.variances.lambdas, signs=signs, hold=hold)
        held = self.sales.take(mine)
        rows = self.design.rows(held.condition, held.asked).to_dense()
        return found, rows @ found.effects, np.einsum("ij,jk,ik->i", rows, found.inverse, rows)


@pytest.fixture(scope="module")
def setting() -> Setting:
    return Setting(small_sales(160, seed=4))


def test_folds_add_up_to_all_sales_and_to_those_without_one(setting: Setting) -> None:
    for fold in (None, 2):
        kept = np.flatnonzero(setting.folds != fold)
        expected = sales_moments(
            setting.design, setting.sales.take(kept), setting.response[kept], setting.weights[kept]
        )
        found = added(setting.parts, fold)
        assert found.rtr == pytest.approx(expected.rtr, rel=1e-12, abs=1e-9)
        assert found.rty == pytest.approx(expected.rty, rel=1e-12, abs=1e-9)
        assert found.yty == pytest.approx(expected.yty)
        assert (found.rows, found.log_weights) == (len(kept), pytest.approx(expected.log_weights))


@pytest.mark.parametrize("hold", [False, True], ids=["few sales: fitted anew", "many sales: held"])
def test_each_sale_is_priced_by_a_fit_without_its_fold(
    setting: Setting, monkeypatch: pytest.MonkeyPatch, hold: bool
) -> None:
    monkeypatch.setattr(fold_fits, "_ROWS_TO_REFIT", setting.sales.rows if hold else setting.sales.rows + 1)
    found = setting.fitted()
    for fold in range(FOLDS):
        mine = setting.folds == fold
        real, mean, quadratic = setting.real(fold, hold=hold)
        assert np.array_equal(real.variances.lambdas, setting.whole.variances.lambdas) is hold
        assert found.effects[fold] == pytest.approx(real.effects, rel=1e-4, abs=1e-5)
        assert found.mean[mine] == pytest.approx(mean, abs=1e-5)
        assert found.quadratic[mine] == pytest.approx(quadratic, rel=1e-3)


def test_with_interactions_too_each_sale_is_priced_by_a_fit_without_its_fold() -> None:
    joined = Setting(small_sales(240), full=True)
    found = joined.fitted()
    for fold in (0, FOLDS - 1):
        _, mean, quadratic = joined.real(fold, hold=False)
        assert found.mean[joined.folds == fold] == pytest.approx(mean, abs=1e-4)
        assert found.quadratic[joined.folds == fold] == pytest.approx(quadratic, rel=1e-2)


def test_what_a_sale_cost_has_no_part_in_its_own_fit(setting: Setting) -> None:
    other = Setting(setting.sales)
    other.response = np.where(other.folds == 1, other.response + 5.0, other.response)
    other.parts = fold_moments(other.design, other.sales, other.response, other.weights, other.folds)
    other.whole = setting.whole
    mine = setting.folds == 1
    before, after = setting.fitted().mean, other.fitted().mean
    assert np.array_equal(before[mine], after[mine])
    assert np.abs(after - before)[~mine].mean() > 0.5


def test_bounds_are_kept_in_each_fold_only_where_asked(setting: Setting) -> None:
    rows = setting.design.bounds
    bound, free = setting.fitted(signs=True), setting.fitted(signs=False)
    assert min((rows @ each).min() for each in bound.effects) >= -1e-9
    assert min((rows @ each).min() for each in free.effects) < -1e-4
