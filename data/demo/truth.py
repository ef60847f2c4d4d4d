"""What is true of the invented market: every coefficient behind the demo sales, on ln(price in EUR).

The median of a sale is::

    ln median = base + brand + model within brand + curves of the numbers + choices + opened
                + faults + marks + locks + parts + asked + drift * years + walk[month]

and its price is drawn as ln price ~ N(ln median, spread(unit)^2). Faults are not simply added:

- of several faults the largest counts in full, the others ``together_share`` of their effects;
- a fault of a function counts nothing while a function that it requires is dead or removed;
- a unit sold for parts is worth base + brand + model + curves + choices + ``parts_value_log`` and time; its
  condition moves nothing.

"Not stated" is no state: a seller who is silent leaves a blank, and the price knows what the blank hides.
All brands, models, sales and coefficients are invented. They mean nothing in the real world.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from pricing.errors import NotFound
from pricing.records.sales_table import FloatArray

NO_EFFECT = ("works", "not fitted")


@dataclass(frozen=True)
class Curve:
    """The smooth effect of a number on ln(price): linear_log * z + square_log * z^2.

    Attributes:
        attribute: Name of the number's column.
        centre, scale: z = (x - centre) / scale, or (ln x - ln centre) / ln scale when ``logged``.
        linear_log, square_log: Coefficients on ln(price).
        logged: Whether the number enters as its logarithm.
    """

    attribute: str
    centre: float
    scale: float
    linear_log: float
    square_log: float
    logged: bool = False

    def effect_log(self, values: FloatArray) -> FloatArray:
        """Return the effect on ln(price) of each value, shape as given."""
        if self.logged:
            steps = np.log(values / self.centre) / np.log(self.scale)
        else:
            steps = (values - self.centre) / self.scale
        effect: FloatArray = self.linear_log * steps + self.square_log * steps**2
        return effect


@dataclass(frozen=True, eq=False)
class States:
    """The states that one column can show: how often each occurs, and what it does to ln(price).

    Attributes:
        name: The function, surface, part, lock or choice.
        states: state -> (effect on ln price, share of units); the rest of the units is in state ``usual``.
        usual: The state without effect.
        blank_share: Share of the cells that the seller leaves blank, whatever the state.
        always_said: States that no seller is silent about.
    """

    name: str
    states: Mapping[str, tuple[float, float]]
    usual: str
    blank_share: float = 0.5
    always_said: tuple[str, ...] = ()

    @property
    def words(self) -> tuple[str, ...]:
        """The usual state first, then the others in order."""
        return (self.usual, *self.states)

    @property
    def effects_log(self) -> FloatArray:
        """Effect of each of ``words``, shape (states + 1,)."""
        return np.array([0.0, *(effect for effect, _ in self.states.values())])

    @property
    def shares(self) -> FloatArray:
        """Share of each of ``words``; they sum to 1."""
        others = [share for _, share in self.states.values()]
        return np.array([1.0 - sum(others), *others])


@dataclass(frozen=True, eq=False)
class ModelTruth:
    """One invented model: its own effect, its share of the brand's sales and what is fixed by design.

    Attributes:
        name: Unique within its class.
        effect_log: Effect on ln(price) beside the brand's.
        share: Share of the brand's sales.
        numbers, texts: Attributes that are the same for every unit of the model.
        not_fitted: Functions that the model does not have.
    """

    name: str
    effect_log: float
    share: float
    numbers: Mapping[str, float]
    texts: Mapping[str, str]
    not_fitted: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class BrandTruth:
    """One invented brand in one class.

    Attributes:
        name: Invented.
        effect_log: Effect on ln(price).
        share: Share of the class's sales; ignored with ``exact_sales``.
        models: Its models in this class.
        exact_sales: Number of sales of an obscure brand, however many rows are drawn.
    """

    name: str
    effect_log: float
    share: float
    models: tuple[ModelTruth, ...]
    exact_sales: int | None = None


@dataclass(frozen=True, eq=False)
class ClassTruth:
    """The coefficients of one device class.

    Attributes:
        name: Name of the class.
        rows: Sales drawn by default.
        base_log: ln(price in EUR) of the reference unit on the first day.
        brand_spread_log, model_spread_log: Standard deviations from which brand and model effects are drawn.
        curves: Effects of the numbers, battery_share among them.
        free_numbers: Numbers that differ between units of one model: name -> (values, shares).
        choices, faults, marks, locks, parts: Columns with states; ``opened`` is among the choices.
        brands: Invented brands with their models.
    """

    name: str
    rows: int
    base_log: float
    brand_spread_log: float
    model_spread_log: float
    curves: tuple[Curve, ...]
    free_numbers: Mapping[str, tuple[tuple[float, ...], tuple[float, ...]]]
    choices: tuple[States, ...]
    faults: tuple[States, ...]
    marks: tuple[States, ...]
    locks: tuple[States, ...]
    parts: tuple[States, ...]
    brands: tuple[BrandTruth, ...] = ()


@dataclass(frozen=True, eq=False)
class Truth:
    """All that is true of the demo market.

    Attributes:
        classes: Class name -> its coefficients.
        walk_log: Sum of the monthly steps, one value per month from ``first_day``, shape (months,).
        first_day, last_day: Days between which sales lie.
        drift_log: Change of ln(price) per year of 365.25 days; -0.1625 is 15 % a year.
        walk_sd_log: Standard deviation of one monthly step.
        asked_log: How far asking prices lie above sold ones.
        parts_value_log: A unit sold for parts against the same unit without a fault.
        together_share: What the faults beside the largest one count.
        spread_log: Standard deviation of ln(price) for a sound unit of the year ``spread_year``.
        spread_per_year: Relative growth of that for each year that the model is older.
        spread_faulty: Factor on it for a unit with a fault that counts.
        spread_parts_log: Standard deviation of ln(price) of units sold for parts.
        zero_effects: Every (class, function, status) that moves no price at all: three of them.
    """

    classes: Mapping[str, ClassTruth]
    walk_log: FloatArray
    first_day: date = date(2023, 7, 1)
    last_day: date = date(2026, 6, 30)
    drift_log: float = -0.1625
    walk_sd_log: float = 0.012
    asked_log: float = 0.08
    parts_value_log: float = -1.3
    together_share: float = 0.85
    spread_log: float = 0.12
    spread_year: float = 2021.0
    spread_per_year: float = 0.05
    spread_faulty: float = 1.2
    spread_parts_log: float = 0.28
    zero_effects: tuple[tuple[str, str, str], ...] = field(init=False)

    def __post_init__(self) -> None:
        zero = tuple(
            (name, fault.name, status)
            for name, known in self.classes.items()
            for fault in known.faults
            for status, (effect, _) in fault.states.items()
            if effect == 0.0
        )
        object.__setattr__(self, "zero_effects", zero)

    def of_class(self, class_name: str) -> ClassTruth:
        """Return the coefficients of one class.

        Raises:
            NotFound: There are no demo sales of this class.
        """
        if class_name not in self.classes:
            raise NotFound(f"no demo sales of the class {class_name}; there are {', '.join(self.classes)}")
        return self.classes[class_name]

    def fault_effect_log(self, class_name: str, function: str, status: str) -> float:
        """Return the effect on ln(price) of one fault alone on a unit; 0 for works and not fitted.

        Raises:
            NotFound: The demo has no such class, function or status.
        """
        known = self.of_class(class_name)
        for fault in known.faults:
            if fault.name == function and status in NO_EFFECT:
                return 0.0
            if fault.name == function and status in fault.states:
                return fault.states[status][0]
        raise NotFound(f"the demo sales of the class {class_name} have no fault {function}={status}")

    def fault_pairs(self, class_name: str) -> tuple[tuple[str, str], ...]:
        """Return every (function, status) that the class's demo sales can show.

        Raises:
            NotFound: There are no demo sales of this class.
        """
        faults = self.of_class(class_name).faults
        return tuple((fault.name, status) for fault in faults for status in fault.states)

    def brand_effect_log(self, class_name: str, brand: str) -> float:
        """Return the effect of a brand on ln(price).

        Raises:
            NotFound: The demo has no such class or brand.
        """
        return self._brand(class_name, brand).effect_log

    def model_effect_log(self, class_name: str, brand: str, model: str) -> float:
        """Return the effect of a model on ln(price), beside its brand's.

        Raises:
            NotFound: The demo has no such class, brand or model.
        """
        for known in self._brand(class_name, brand).models:
            if known.name == model:
                return known.effect_log
        raise NotFound(f"the brand {brand} has no demo model {model} in the class {class_name}")

    def _brand(self, class_name: str, brand: str) -> BrandTruth:
        for known in self.of_class(class_name).brands:
            if known.name == brand:
                return known
        raise NotFound(f"the class {class_name} has no demo brand {brand}")
