"""One list of price models, one list of contracts: every model has to keep every one of them.

A contract is a function of a maker of models and of sales. Models are ours with all its parts, ours with each part
left out, and a baseline that shares nothing with ours.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from typing import Protocol

import numpy as np
import pytest

from pricing.hedonic.fit import CORE, LEAST_SQUARES, FitSettings, fit_model
from pricing.hedonic.model import PriceModel
from pricing.hedonic.model_file import model_from_text, model_to_text
from pricing.records.device_class import Attribute, DeviceClass
from pricing.records.estimate import LEVELS
from pricing.records.sales_table import ConditionTable, FloatArray, SalesTable, TextColumn
from tests.builders import small_class
from tests.contract.group_median import GroupMedianMaker
from tests.market import repriced, small_sales, with_condition

ROWS = 160
EXACTLY, WITH_TREES = 1e-6, 1e-2


class Priced(Protocol):
    """A fitted price model."""

    def said(self, table: ConditionTable) -> FloatArray:
        """Return all figures of each unit in money, shape (rows, figures)."""

    def text(self) -> str:
        """Return the model as text."""


class Maker(Protocol):
    """A way to make price models."""

    @property
    def tolerance(self) -> float:
        """How far, relative, figures may move that should not."""

    def fit(self, sales: SalesTable) -> Priced:
        """Return the model of these sales."""

    def read(self, text: str) -> Priced:
        """Return the model that a text holds."""


@dataclass(frozen=True)
class Ours:
    """A model of ours."""

    model: PriceModel

    def said(self, table: ConditionTable) -> FloatArray:
        """Return estimate, expected value and interval ends."""
        prediction = self.model.predict(self.model.dated(table, None))
        ends = [end for level in LEVELS for end in self.model.interval(prediction, level)]
        return np.column_stack([self.model.estimate(prediction), self.model.expected(prediction), *ends])

    def text(self) -> str:
        """Return the model's file."""
        return model_to_text(self.model)


@dataclass(frozen=True)
class OurMaker:
    """Fits ours with some parts left out."""

    settings: FitSettings
    device_class: DeviceClass

    @property
    def tolerance(self) -> float:
        """Trees split between two sales, and rounding may move a split from one gap to the next."""
        return WITH_TREES if self.settings.trees else EXACTLY

    def fit(self, sales: SalesTable) -> Ours:
        """Return the model; a bare class takes the sales without their condition."""
        bare = not self.device_class.functions
        return Ours(fit_model(_plain(sales) if bare else sales, self.device_class, settings=self.settings))

    def read(self, text: str) -> Ours:
        """Return the model of a file."""
        return Ours(model_from_text(text, "m.json"))


def _plain(sales: SalesTable) -> SalesTable:
    return with_condition(sales, faults={}, marks={}, parts={}, locks={}, sold_on=None)


SPECIFICATIONS = DeviceClass(name="talker", attributes=(Attribute(name="brand", kind="group"),
                                                        Attribute(name="storage_gb", kind="number")))  # fmt: skip
MAKERS: dict[str, Maker] = {
    "all parts": OurMaker(FitSettings(), small_class()),
    "without trees": OurMaker(FitSettings(trees=False), small_class()),
    "without interactions": OurMaker(FitSettings(interactions=False), small_class()),
    "main effects": OurMaker(CORE, small_class()),
    "main effects without spread": OurMaker(replace(CORE, spread=False), small_class()),
    "main effects without calibration": OurMaker(replace(CORE, calibration=False), small_class()),
    "main effects without bounds": OurMaker(replace(CORE, signs=False), small_class()),
    "least squares": OurMaker(LEAST_SQUARES, SPECIFICATIONS),
    "median of the brand": GroupMedianMaker(),
}


@cache
def sales() -> SalesTable:
    return small_sales(ROWS)


@cache
def fitted(name: str) -> Priced:
    return MAKERS[name].fit(sales())


def permuted_rows_change_nothing(name: str) -> None:
    other = sales().take(np.random.default_rng(3).permutation(ROWS))
    _same(name, MAKERS[name].fit(other).said(sales().condition))


def renamed_levels_change_nothing(name: str) -> None:
    texts = {
        word: TextColumn(column.codes, tuple(f"{word} {9 - number}" for number in range(len(column.levels))))
        for word, column in sales().condition.texts.items()
    }
    renamed = with_condition(sales(), texts=texts)
    _same(name, MAKERS[name].fit(renamed).said(renamed.condition))


def scaled_prices_scale_all_that_is_said(name: str) -> None:
    factor = 117.3
    scaled = MAKERS[name].fit(repriced(sales(), factor * sales().price))
    _same(name, scaled.said(sales().condition) / factor)


def another_unit_of_a_number_changes_nothing(name: str) -> None:
    other = with_condition(sales(), numbers={"storage_gb": 1e-3 * sales().condition.numbers["storage_gb"]})
    _same(name, MAKERS[name].fit(other).said(other.condition))


def it_comes_back_from_its_text_and_says_the_same_to_the_bit(name: str) -> None:
    text = fitted(name).text()
    again = MAKERS[name].read(text)
    assert again.text() == text
    assert (again.said(sales().condition) == fitted(name).said(sales().condition)).all()


def one_row_alone_is_priced_as_in_a_batch(name: str) -> None:
    together = fitted(name).said(sales().condition)
    for row in range(0, ROWS, 20):
        alone = fitted(name).said(sales().condition.take(np.array([row])))
        assert alone[0] == pytest.approx(together[row], rel=1e-12)


def estimates_differ_and_lie_inside_intervals_that_grow(name: str) -> None:
    said = fitted(name).said(sales().condition)
    lows, highs = said[:, -2 * len(LEVELS) :: 2], said[:, -2 * len(LEVELS) + 1 :: 2]
    assert len(np.unique(said[:, 0])) > 1
    assert (np.diff(lows, axis=1) <= 0).all()
    assert (np.diff(highs, axis=1) >= 0).all()
    assert ((lows[:, 0] < said[:, 0]) & (said[:, 0] < highs[:, 0])).all()


CONTRACTS: tuple[Callable[[str], None], ...] = (
    permuted_rows_change_nothing,
    renamed_levels_change_nothing,
    scaled_prices_scale_all_that_is_said,
    another_unit_of_a_number_changes_nothing,
    it_comes_back_from_its_text_and_says_the_same_to_the_bit,
    one_row_alone_is_priced_as_in_a_batch,
    estimates_differ_and_lie_inside_intervals_that_grow,
)


def _same(name: str, figures: FloatArray) -> None:
    assert figures == pytest.approx(fitted(name).said(sales().condition), rel=MAKERS[name].tolerance)


@pytest.mark.parametrize("contract", CONTRACTS, ids=lambda contract: contract.__name__)
@pytest.mark.parametrize("name", MAKERS)
def test_every_price_model_keeps_every_contract(name: str, contract: Callable[[str], None]) -> None:
    contract(name)
