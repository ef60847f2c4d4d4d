"""What a unit is worth: one unit with its reasons, or many as columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from pricing.errors import BadInput
from pricing.estimation.abstaining import reasons_to_abstain
from pricing.estimation.reasons import day_of, reasons_for
from pricing.hedonic.model import SUPPORTS, PriceModel
from pricing.records.estimate import LEVELS, Estimate, Interval, Support
from pricing.records.money import Money, money_from_float
from pricing.records.sales_table import ConditionTable, FloatArray
from pricing.records.unit import Unit
from pricing.records.unit_columns import columns_of_units

NO_CURRENCY = "XXX"  # ISO 4217: no currency involved


@dataclass(frozen=True, eq=False)
class EstimateColumns:
    """Estimates of many units.

    Attributes:
        estimate, expected: shape (rows,), money; NaN where abstained.
        low, high: level -> shape (rows,), money; NaN where abstained.
        support: shape (rows,) words.
        abstained: Reason for each row, None when there is a figure or ``always`` was asked for.
    """

    estimate: FloatArray
    expected: FloatArray
    low: Mapping[int, FloatArray]
    high: Mapping[int, FloatArray]
    support: tuple[Support, ...]
    abstained: tuple[str | None, ...]


def estimate_columns(
    model: PriceModel, table: ConditionTable, *, on: date | None = None, always: bool = False
) -> EstimateColumns:
    """Price many units.

    Args:
        model: The fitted model.
        table: The units; a row with a day in ``sold_on`` is priced for that day.
        on: Day for the other rows; None: the model's own.
        always: Give figures even where the model would abstain.
    """
    dated = model.dated(table, on)
    prediction = model.predict(dated)
    bands = {level: model.interval(prediction, level) for level in LEVELS}
    abstained = reasons_to_abstain(model, dated, *bands[80])
    if always:
        abstained = [None] * table.rows
    silent = np.array([reason is not None for reason in abstained], dtype=np.bool_)

    def shown(figures: FloatArray) -> FloatArray:
        """Return the figures, NaN where the model abstains."""
        return np.where(silent, np.nan, figures)

    return EstimateColumns(
        estimate=shown(model.estimate(prediction)),
        expected=shown(model.expected(prediction)),
        low={level: shown(low) for level, (low, _) in bands.items()},
        high={level: shown(high) for level, (_, high) in bands.items()},
        support=tuple(np.array(SUPPORTS, dtype=object)[prediction.support]),
        abstained=tuple(abstained),
    )


def supports(model: PriceModel, table: ConditionTable) -> tuple[Support, ...]:
    """Return how much each estimate leans on sales of the same groups."""
    return tuple(np.array(SUPPORTS, dtype=object)[model.support(table)])


def estimate_unit(
    model: PriceModel, unit: Unit, *, on: date | None = None, always: bool = False
) -> Estimate:
    """Price one unit.

    Args:
        model: The fitted model.
        unit: A unit of the model's class.
        on: The day it is for; None: the model's own.
        always: Give figures even where the model would abstain.

    Raises:
        BadInput: The unit is of another class or names what the class does not know.
    """
    return estimate_units(model, (unit,), on=on, always=always)[0]


def estimate_units(
    model: PriceModel, units: Sequence[Unit], *, on: date | None = None, always: bool = False
) -> tuple[Estimate, ...]:
    """Price several units; see ``estimate_unit``.

    Raises:
        BadInput: A unit is of another class or names what the class does not know.
    """
    for unit in units:
        check_class(model, unit)
    table = columns_of_units(units, model.device_class)
    return estimate_rows(model, model.dated(table, on), always=always)


def check_class(model: PriceModel, unit: Unit) -> None:
    """Check that the unit is of the model's class.

    Raises:
        BadInput: It is not.
    """
    if unit.device_class != model.device_class.name:
        raise BadInput(f"the model is of the class {model.device_class.name}, the unit of {unit.device_class}")


def estimate_rows(model: PriceModel, table: ConditionTable, *, always: bool = False) -> tuple[Estimate, ...]:
    """Price each row of a dated table, with reasons; see ``estimate_unit``."""
    columns = estimate_columns(model, table, always=always)
    warnings = reasons_to_abstain(model, table, columns.low[80], columns.high[80]) if always else []
    return tuple(
        Estimate(
            estimate=in_money(columns.estimate[row], model),
            expected=in_money(columns.expected[row], model),
            intervals=_intervals(columns, row, model),
            support=columns.support[row],
            on=day_of(table, row),
            calibrated=all(model.calibration.calibrated),
            of_asking_price=model.of_asking_price,
            reasons=(*reasons_for(model, table, row), *(w for w in warnings[row : row + 1] if w)),
            abstained=columns.abstained[row],
            model=model.fingerprint,
        )
        for row in range(table.rows)
    )


def _intervals(columns: EstimateColumns, row: int, model: PriceModel) -> tuple[Interval, ...]:
    found = []
    for level in LEVELS:
        low, high = in_money(columns.low[level][row], model), in_money(columns.high[level][row], model)
        if low is not None and high is not None:
            found.append(Interval(level=level, low=low, high=high))
    return tuple(found)


def currency_of(model: PriceModel) -> str:
    """Return the model's currency, or ISO 4217's code for none."""
    return model.currency or NO_CURRENCY


def in_money(figure: float, model: PriceModel) -> Money | None:
    """Return a model's figure as money of its currency, None for NaN."""
    return None if np.isnan(figure) else money_from_float(float(figure), currency_of(model))
