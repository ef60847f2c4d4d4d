"""Grown trees as arrays say what the library that grew them says."""

from __future__ import annotations

import numpy as np
import pytest
from sklearn.ensemble import HistGradientBoostingRegressor

from pricing.hedonic import growing
from pricing.hedonic.design import Design, learn_design
from pricing.hedonic.growing import FEW_TREES, MANY_TREES, grow, learning_rate
from pricing.hedonic.summary import summarise
from pricing.hedonic.trees import TreeInputs, Trees, tree_inputs
from pricing.records.device_class import Attribute, DeviceClass
from pricing.records.sales_table import ConditionTable
from tests.market import sales_of, table_of

TOOL = DeviceClass(name="tool", attributes=(
    Attribute(name="size", kind="number", effect="raises"), Attribute(name="age", kind="number", effect="lowers"),
    Attribute(name="power", kind="number"), Attribute(name="maker", kind="group"),
))  # fmt: skip
MAKERS = tuple(f"M{number}" for number in range(12))


def tools(rows: int, seed: int = 0, unseen: bool = False) -> ConditionTable:
    """Return tools with blanks in every column, some by makers that nobody knows."""
    rng = np.random.default_rng(seed)
    numbers = {name: rng.normal(size=rows) for name in ("size", "age", "power")}
    for values in numbers.values():
        values[rng.random(rows) < 0.1] = np.nan
    words = [*MAKERS[:-1], None] + ["Nobody", "Nowhere"] * unseen
    return table_of(rows, numbers=numbers, texts={"maker": [words[n] for n in rng.integers(0, len(words), rows)]})


class Grown:
    """Trees, and the library's own estimator behind them."""

    def __init__(self, rows: int, monkeypatch: pytest.MonkeyPatch, *, wild: bool = False) -> None:
        kept: list[HistGradientBoostingRegressor] = []

        class Kept(HistGradientBoostingRegressor):
            """The estimator, remembered."""

            def fit(self, *given: np.ndarray, sample_weight: np.ndarray) -> HistGradientBoostingRegressor:
                kept.append(self)
                return super().fit(*given, sample_weight=sample_weight)

        monkeypatch.setattr(growing, "HistGradientBoostingRegressor", Kept)
        rng = np.random.default_rng(1)
        self.table = tools(rows)
        maker = self.table.texts["maker"].codes
        size, age = (np.nan_to_num(self.table.numbers[name]) for name in ("size", "age"))
        self.residuals = 0.3 * np.sin(2 * size + maker) + 0.2 * np.sin(3 * age) + 0.1 * rng.normal(size=rows)
        price = np.exp(0.1 * size + 0.2 * np.sin(maker) + self.residuals)
        sales = sales_of(price.tolist(), numbers=self.table.numbers, texts=self.table.texts)
        self.design: Design = learn_design(summarise(sales, TOOL), TOOL)
        effects = rng.normal(size=self.design.columns)
        self.inputs: TreeInputs = tree_inputs(self.design, TOOL.attributes_by_name, effects)
        self.columns = self.inputs.columns(self.design, self.table)
        self.weights = np.exp(rng.normal(size=rows)) if wild else np.ones(rows)
        self.trees: Trees = grow(self.columns, self.inputs, self.residuals, self.weights)
        self.library = kept[0]


@pytest.mark.parametrize("tabled", [1, 10**6], ids=["by tables", "by walks"])
@pytest.mark.parametrize("rows", [15, 60, 900])
def test_trees_as_arrays_predict_what_the_library_predicts(
    rows: int, tabled: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pricing.hedonic.trees._ROWS_FOR_TABLES", tabled)
    grown = Grown(rows, monkeypatch, wild=True)
    fresh = tools(700, seed=7, unseen=True)
    for table in (grown.table, fresh, fresh.take(np.arange(20))):
        columns = grown.inputs.columns(grown.design, table)
        assert np.isnan(columns).any()
        expected = np.clip(grown.library.predict(columns), grown.trees.low, grown.trees.high)
        assert grown.trees.correction(grown.design, table) == pytest.approx(expected, rel=1e-12, abs=1e-14)
    assert np.ptp(grown.library.predict(grown.columns)) > 0.05


def test_values_at_a_threshold_and_beyond_all_of_them_go_the_librarys_way(monkeypatch: pytest.MonkeyPatch) -> None:
    grown = Grown(900, monkeypatch)
    power = grown.inputs.numbers.index("power")
    asked = (grown.trees.feature == power) & (grown.trees.left != np.arange(len(grown.trees.left)))
    edges = np.unique(grown.trees.threshold[asked])
    assert len(edges) > 20
    table = table_of(len(edges) + 2, numbers={"power": [*edges, 1e30, -1e30]})
    columns = grown.inputs.columns(grown.design, table)
    expected = np.clip(grown.library.predict(columns), grown.trees.low, grown.trees.high)
    assert grown.trees.correction(grown.design, table) == pytest.approx(expected, rel=1e-12, abs=1e-14)


def test_the_correction_keeps_within_what_it_was_for_the_sales(monkeypatch: pytest.MonkeyPatch) -> None:
    grown = Grown(900, monkeypatch)
    own = grown.library.predict(grown.columns)
    assert (grown.trees.low, grown.trees.high) == (own.min(), own.max())
    far = tools(3000, seed=9, unseen=True)
    columns = grown.inputs.columns(grown.design, far)
    found = grown.trees.correction(grown.design, far)
    assert found.min() >= grown.trees.low
    assert found.max() <= grown.trees.high
    outside = grown.library.predict(columns)
    assert outside.min() < grown.trees.low or outside.max() > grown.trees.high


def test_numbers_with_a_direction_keep_it_whatever_the_sales_say(monkeypatch: pytest.MonkeyPatch) -> None:
    grown = Grown(900, monkeypatch)
    assert grown.inputs.directions.tolist() == [1, -1, 0, 0]
    rng, steps = np.random.default_rng(3), np.linspace(-4, 4, 120)
    for name, sign in (("size", 1), ("age", -1)):
        moved = 0.0
        for maker in (*MAKERS[:3], "Nobody"):
            numbers = {each: np.full(120, rng.normal()) for each in ("size", "age", "power")}
            numbers[name] = steps
            curve = grown.trees.correction(
                grown.design, table_of(120, numbers=numbers, texts={"maker": [maker] * 120})
            )
            assert np.all(sign * np.diff(curve) >= -1e-15)
            moved += np.ptp(curve)
        assert moved > 0.01


def test_weights_say_which_sales_count_and_their_size_does_not(monkeypatch: pytest.MonkeyPatch) -> None:
    grown = Grown(300, monkeypatch, wild=True)
    again = grow(grown.columns, grown.inputs, grown.residuals, 1000 * grown.weights)
    found = grown.trees.correction(grown.design, grown.table)
    assert again.correction(grown.design, grown.table) == pytest.approx(found, abs=1e-6)
    even = grow(grown.columns, grown.inputs, grown.residuals, np.ones(300))
    assert np.abs(even.correction(grown.design, grown.table) - found).max() > 0.01


def test_the_same_sales_give_the_same_trees(monkeypatch: pytest.MonkeyPatch) -> None:
    grown = Grown(300, monkeypatch)
    again = grow(grown.columns, grown.inputs, grown.residuals, grown.weights)
    for name in ("roots", "feature", "threshold", "blank_left", "left", "right", "value"):
        assert np.array_equal(getattr(again, name), getattr(grown.trees, name))
    assert len(again.roots) == MANY_TREES


def test_residuals_that_do_not_differ_are_corrected_by_their_mean(monkeypatch: pytest.MonkeyPatch) -> None:
    grown = Grown(60, monkeypatch)
    flat = grow(grown.columns, grown.inputs, np.full(60, 0.25), grown.weights)
    assert flat.depth == 0
    assert flat.correction(grown.design, tools(100, seed=2)) == pytest.approx(np.full(100, 0.25))


@pytest.mark.parametrize(("rows", "count"), [(1999, MANY_TREES), (2000, FEW_TREES)])
def test_few_sales_have_more_trees(rows: int, count: int, monkeypatch: pytest.MonkeyPatch) -> None:
    assert len(Grown(rows, monkeypatch).trees.roots) == count


def test_few_sales_are_learnt_from_slowly() -> None:
    assert [learning_rate(rows) for rows in (60, 800)] == [0.1, 0.1]
    assert learning_rate(3200) == pytest.approx(0.2)
    assert learning_rate(10**6) == 0.25
