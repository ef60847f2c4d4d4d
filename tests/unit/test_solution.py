from __future__ import annotations

import numpy as np
import pytest

from pricing.errors import SingularDesign
from pricing.hedonic.design import Design, learn_design
from pricing.hedonic.gram import sales_moments
from pricing.hedonic.recipe import residuals_and_leverage
from pricing.hedonic.solution import Solution, solve
from pricing.hedonic.summary import summarise
from pricing.records.device_class import Attribute, DeviceClass
from pricing.records.sales_table import SalesTable
from tests.builders import small_class
from tests.market import repriced, sales_of, small_sales


@pytest.fixture(scope="module")
def few() -> SalesTable:
    return small_sales(60, seed=2)


@pytest.fixture(scope="module")
def weights(few: SalesTable) -> np.ndarray:
    return np.random.default_rng(1).uniform(0.4, 2.5, few.rows)


def solved(sales: SalesTable, weights: np.ndarray, **choices: bool) -> tuple[Design, np.ndarray, Solution]:
    design = learn_design(summarise(sales, small_class()), small_class())
    response = np.log(sales.price) - np.log(sales.price).mean()
    return design, response, solve(sales_moments(design, sales, response, weights), design, **choices)


def test_leaving_a_sale_out_in_closed_form_equals_fitting_without_it(few: SalesTable, weights: np.ndarray) -> None:
    design, response, solution = solved(few, weights, signs=False)
    residuals, leverage = residuals_and_leverage(design, few, response, solution, 1 / weights)
    table, variances = design.block_table(), solution.variances
    rows = design.rows(few.condition, few.asked).to_dense()
    columns, rest = rows @ table.to_raw.toarray(), response - rows @ table.offset
    penalty = np.diag(np.where(table.block_of < 0, 0.0, variances.lambdas[table.block_of]))
    assert not solution.aliased
    for row in range(few.rows):
        kept = np.delete(np.arange(few.rows), row)
        weighted = weights[kept, None] * columns[kept]
        matrix = columns[kept].T @ weighted + penalty
        effects = np.linalg.solve(matrix, weighted.T @ rest[kept])
        missed = rest[row] - columns[row] @ effects
        variance = 1 / weights[row] + columns[row] @ np.linalg.solve(matrix, columns[row])
        score = residuals[row] / np.sqrt((1 - leverage[row]) / weights[row])
        assert residuals[row] / (1 - leverage[row]) == pytest.approx(missed, rel=1e-6, abs=1e-9)
        assert score == pytest.approx(missed / np.sqrt(variance), rel=1e-6, abs=1e-9)


def test_a_fault_that_seems_to_raise_prices_is_held_at_0_with_bounds_only(
    few: SalesTable, weights: np.ndarray
) -> None:
    column = few.condition.faults["loudspeaker"]
    odd = repriced(few, few.price * np.exp(0.5 * (column.codes == column.levels.index("dead"))))
    design, _, free = solved(odd, weights, signs=False)
    _, _, bound = solved(odd, weights)
    assert np.array_equal(free.effects, free.free_effects)
    assert np.array_equal(bound.free_effects, free.free_effects)
    faults = design.terms.index(design.faults)
    columns = np.array(design.term_columns(faults)[2:]).reshape(-1, 5)[:, :4]
    assert free.effects[columns].max() > 0.01
    assert bound.effects[columns].max() <= 0.0


def test_an_effect_that_no_sale_had_keeps_the_spread_of_its_own(few: SalesTable, weights: np.ndarray) -> None:
    design, _, solution = solved(few, weights)
    table = design.block_table()
    lonely = np.flatnonzero(table.lonely_block >= 0)
    assert len(lonely) > 20
    for column in lonely:
        own = table.lonely_scale[column] ** 2 * solution.variances.block_variance(int(table.lonely_block[column]))
        assert own > 0
        # Equal but for the last digit where nothing else is known of it, and that digit depends on the processor.
        assert solution.variances.sigma2 * solution.inverse[column, column] >= own * (1 - 1e-9)


def test_freedom_is_rows_less_effective_columns(few: SalesTable, weights: np.ndarray) -> None:
    design, response, solution = solved(few, weights, signs=False)
    _, leverage = residuals_and_leverage(design, few, response, solution, 1 / weights)
    assert solution.freedom == pytest.approx(few.rows - leverage.sum(), rel=1e-6)


def test_a_number_that_others_determine_is_left_out_by_name_or_refused() -> None:
    rng = np.random.default_rng(0)
    size = rng.uniform(1, 9, 40)
    twins = DeviceClass(name="twins", attributes=(Attribute(name="size", kind="number"),
                                                  Attribute(name="double", kind="number")))  # fmt: skip
    sales = sales_of(np.exp(size / 9 + 0.1 * rng.normal(size=40)), numbers={"size": size, "double": 2 * size})
    design = learn_design(summarise(sales, twins), twins, penalties=False)
    moments = sales_moments(design, sales, np.log(sales.price))
    assert solve(moments, design).aliased == ("double",)
    with pytest.raises(SingularDesign, match="double"):
        solve(moments, design, strict=True)


def test_a_start_far_away_leads_to_the_same_solution(few: SalesTable, weights: np.ndarray) -> None:
    design, response, solution = solved(few, weights)
    moments = sales_moments(design, few, response, weights)
    for factor in (1e-4, 1e4):
        again = solve(moments, design, start=factor * solution.variances.lambdas)
        assert again.effects == pytest.approx(solution.effects, abs=2e-4)
        assert again.variances.criterion == pytest.approx(solution.variances.criterion, abs=1e-3)
