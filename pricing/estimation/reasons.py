"""What makes an estimate less sure, in plain words."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np

from pricing.errors import counted
from pricing.hedonic.design import Term
from pricing.hedonic.fault_term import FaultTerm
from pricing.hedonic.model import PriceModel
from pricing.hedonic.number_term import NumberTerm
from pricing.hedonic.pieces import Strip
from pricing.hedonic.state_term import StateTerm
from pricing.hedonic.time_term import TimeTerm
from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import ConditionTable
from pricing.records.unit_columns import UnitCells, cells_of_row

_FEW = 4
_KIND_WORDS = {"marks": "mark", "locks": "lock", "parts": "part", "faults": "function"}


def reasons_for(model: PriceModel, table: ConditionTable, row: int) -> tuple[str, ...]:
    """Return the reasons for one dated unit of the table."""
    cells, day = cells_of_row(table, row), day_of(table, row)
    return reasons_for_unit(model, cells, day, model.row_reader.strips(cells, day))


def reasons_for_unit(
    model: PriceModel, cells: UnitCells, day: date | None, strips: Sequence[tuple[Term, Strip]]
) -> tuple[str, ...]:
    """Return the reasons for one unit.

    Args:
        model: The fitted model.
        cells: The unit.
        day: The day it is priced for.
        strips: From the model's ``row_reader``, for that day.
    """
    found = [
        *_of_levels(model, cells, strips),
        *_of_states(model, strips),
        *_of_numbers(cells, strips),
        *_of_time(model, day),
    ]
    if model.of_asking_price:
        found.append("all comparables are asking prices: this estimates an asking price")
    if not all(model.calibration.calibrated):
        found.append(f"only {model.sold_rows} sales: not every interval could be checked")
    return tuple(found)


def _of_levels(model: PriceModel, cells: UnitCells, strips: Sequence[tuple[Term, Strip]]) -> list[str]:
    found = []
    names = model.device_class.attributes_by_name
    for term, strip in strips:
        if strip.sales is not None and strip.sales <= _FEW and term.name in names:
            told = f"{names[term.name].title} {cells.texts.get(term.name) or 'not stated'}"
            if strip.sales == 0:
                found.append(f"no sale of {told}: its effect is drawn from the others' spread")
            else:
                found.append(f"only {counted(strip.sales, 'sale')} of {told}")
    return found


def state_reasons(term: StateTerm, places: Sequence[int], device_class: DeviceClass) -> list[str]:
    """Return a sentence for each state among the one-hot places that no sale had."""
    found = []
    for place in places:
        thing, state, sales = term.state_at(place)
        if sales == 0 and state != "not stated":
            found.append(f"no sale had this: {state_title(term.kind, thing, state, device_class)}")
    return found


def state_title(kind: str, thing: str, state: str, device_class: DeviceClass) -> str:
    """Return a state in words: "ultra-wide camera removed", "crack on back panel"."""
    if kind == "faults":
        return f"{device_class.functions_by_name[thing].title} {state}"
    if kind == "marks":
        return f"{state} on {device_class.surfaces_by_name[thing].title}"
    if kind == "locks":
        return f"{device_class.locks_by_name[thing].title} {state}"
    return f"{state} {device_class.parts_by_name[thing].title}"


def _of_states(model: PriceModel, strips: Sequence[tuple[Term, Strip]]) -> list[str]:
    found: list[str] = []
    for term, strip in strips:
        if isinstance(term, FaultTerm | StateTerm) and strip.never_sold:
            states = term.states if isinstance(term, FaultTerm) else term
            found += state_reasons(states, strip.never_sold, model.device_class)
    return found


def _of_numbers(cells: UnitCells, strips: Sequence[tuple[Term, Strip]]) -> list[str]:
    return [
        f"{term.name} {cells.numbers[term.name]:g} is outside the sales ({term.low:g} to {term.high:g})"
        for term, strip in strips
        if strip.outside > 0 and isinstance(term, NumberTerm)
    ]


def _of_time(model: PriceModel, day: date | None) -> list[str]:
    if model.last_sale is None or day is None:
        return ["the sales are not dated: no effect of time"]
    beyond = (day - model.last_sale).days
    return [f"{counted(beyond, 'day')} after the last sale"] if beyond > 0 else []


def notice_of_day(model: PriceModel, on: date | None) -> tuple[str, ...]:
    """Return how far the day priced for (None: the model's own) lies beyond the last sale, and what follows.

    Returns:
        One sentence, or none when the day is not beyond it or the sales are not dated.
    """
    day = on or model.on
    if model.last_sale is None or day is None or day <= model.last_sale:
        return ()
    timed = any(isinstance(term, TimeTerm) for term in model.design.terms)
    follows = "the drift goes on and the intervals widen" if timed else "the model knows no change with time"
    beyond = counted((day - model.last_sale).days, "day")
    return (f"prices are for {day}, {beyond} after the last sale ({model.last_sale}): {follows}",)


def day_of(table: ConditionTable, row: int) -> date | None:
    """Return the day of one row, None where it has none."""
    if table.sold_on is None or np.isnat(table.sold_on[row]):
        return None
    return date.fromisoformat(str(table.sold_on[row].astype("datetime64[D]")))
