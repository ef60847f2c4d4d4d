"""What a unit is worth: one unit with its reasons, or many as columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from pricing.errors import BadInput
from pricing.estimation.abstaining import reason_to_abstain, reasons_to_abstain
from pricing.estimation.reasons import day_of, reasons_for, reasons_for_unit
from pricing.hedonic.model import SUPPORTS, PriceModel, Said, money
from pricing.records.estimate import LEVELS, Estimate, Interval, Support
from pricing.records.money import Money, money_from_float
from pricing.records.sales_table import ConditionTable, FloatArray
from pricing.records.unit import Unit
from pricing.records.unit_columns import cells_of_unit, columns_of_units

NO_CURRENCY = "XXX"  # ISO 4217: no currency involved


@dataclass(frozen=True, eq=False)
class Figures:
    """What the model says of some units, in money.

    Attributes:
        estimate, expected: shape (rows,).
        low, high: level -> shape (rows,).
    """

    estimate: FloatArray
    expected: FloatArray
    low: Mapping[int, FloatArray]
    high: Mapping[int, FloatArray]


def figures_of(model: PriceModel, said: Said) -> Figures:
    """Return all figures of some units in money, whether or not the model abstains."""
    ends = [end for level in LEVELS for end in model.interval_log(said, level)]
    estimate, expected, *bands = money(np.array([said.mean + model.shift, model.expected_log(said), *ends]))
    return Figures(
        estimate=estimate,
        expected=expected,
        low=dict(zip(LEVELS, bands[::2], strict=True)),
        high=dict(zip(LEVELS, bands[1::2], strict=True)),
    )


@dataclass(frozen=True, eq=False)
class EstimateColumns(Figures):
    """Estimates of many units; figures are NaN where the model abstains.

    Attributes:
        support: shape (rows,) words.
        abstained: Reason for each row, None when there is a figure or ``always`` was asked for.
    """

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
    figures = figures_of(model, prediction)
    abstained = reasons_to_abstain(model, dated, figures.low[80], figures.high[80])
    if always:
        abstained = [None] * table.rows
    silent = np.array([reason is not None for reason in abstained], dtype=np.bool_)

    def shown(column: FloatArray) -> FloatArray:
        """Return the figures, NaN where the model abstains."""
        return np.where(silent, np.nan, column)

    return EstimateColumns(
        estimate=shown(figures.estimate),
        expected=shown(figures.expected),
        low={level: shown(low) for level, low in figures.low.items()},
        high={level: shown(high) for level, high in figures.high.items()},
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
    check_class(model, unit)
    cells, day = cells_of_unit(unit, model.device_class), model.day_for(on)
    strips = model.row_reader.strips(cells, day)
    said = model.predict_one(cells, day, strips)
    figures = figures_of(model, said)
    doubt = reason_to_abstain(model, cells, strips, figures.low[80][0], figures.high[80][0])
    return _told(
        model,
        figures if always or doubt is None else None,
        row=0,
        support=SUPPORTS[said.support[0]],
        day=day,
        reasons=(*reasons_for_unit(model, cells, day, strips), *([doubt] if doubt and always else [])),
        abstained=None if always else doubt,
    )


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
    prediction = model.predict(table)
    figures = figures_of(model, prediction)
    doubts = reasons_to_abstain(model, table, figures.low[80], figures.high[80])
    found = []
    for row, doubt in enumerate(doubts):
        found.append(
            _told(
                model,
                figures if always or doubt is None else None,
                row=row,
                support=SUPPORTS[prediction.support[row]],
                day=day_of(table, row),
                reasons=(*reasons_for(model, table, row), *([doubt] if doubt and always else [])),
                abstained=None if always else doubt,
            )
        )
    return tuple(found)


def _told(
    model: PriceModel,
    figures: Figures | None,
    *,
    row: int,
    support: Support,
    day: date | None,
    reasons: tuple[str, ...],
    abstained: str | None,
) -> Estimate:
    """Return one row's estimate; without figures when it abstains."""
    return Estimate(
        estimate=None if figures is None else in_money(figures.estimate[row], model),
        expected=None if figures is None else in_money(figures.expected[row], model),
        intervals=() if figures is None else _intervals(figures, row, model),
        support=support,
        on=day,
        calibrated=all(model.calibration.calibrated),
        of_asking_price=model.of_asking_price,
        reasons=reasons,
        abstained=abstained,
        model=model.fingerprint,
    )


def _intervals(figures: Figures, row: int, model: PriceModel) -> tuple[Interval, ...]:
    found = []
    for level in LEVELS:
        low, high = in_money(figures.low[level][row], model), in_money(figures.high[level][row], model)
        if low is not None and high is not None:
            found.append(Interval(level=level, low=low, high=high))
    return tuple(found)


def currency_of(model: PriceModel) -> str:
    """Return the model's currency, or ISO 4217's code for none."""
    return model.currency or NO_CURRENCY


def in_money(figure: float, model: PriceModel) -> Money | None:
    """Return a model's figure as money of its currency, None for NaN."""
    return None if np.isnan(figure) else money_from_float(float(figure), currency_of(model))
