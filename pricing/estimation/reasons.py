"""What makes an estimate less sure, in plain words."""

from __future__ import annotations

from datetime import date

import numpy as np

from pricing.errors import counted
from pricing.hedonic.fault_term import FaultTerm
from pricing.hedonic.level_term import LevelTerm
from pricing.hedonic.model import PriceModel
from pricing.hedonic.number_term import NumberTerm
from pricing.hedonic.state_term import StateTerm
from pricing.hedonic.time_term import TimeTerm
from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import ConditionTable

_FEW = 4
_KIND_WORDS = {"marks": "mark", "locks": "lock", "parts": "part", "faults": "function"}


def reasons_for(model: PriceModel, table: ConditionTable, row: int) -> tuple[str, ...]:
    """Return the reasons for one dated unit of the table."""
    one = table.part(slice(row, row + 1))
    found = [*_of_levels(model, one), *_of_states(model, one), *_of_numbers(model, one), *_of_time(model, one)]
    if model.of_asking_price:
        found.append("all comparables are asking prices: this estimates an asking price")
    if not all(model.calibration.calibrated):
        found.append(f"only {model.sold_rows} sales: not every interval could be checked")
    return tuple(found)


def _of_levels(model: PriceModel, one: ConditionTable) -> list[str]:
    found = []
    names = model.device_class.attributes_by_name
    for term in model.design.terms:
        if isinstance(term, LevelTerm) and term.name in names:
            sales = int(term.sales_of(one)[0])
            column = one.texts.get(term.name)
            word = (column.word(0) if column is not None else None) or "not stated"
            if sales == 0:
                found.append(f"no sale of {names[term.name].title} {word}: its effect is drawn from the others' spread")
            elif sales <= _FEW:
                found.append(f"only {counted(sales, 'sale')} of {names[term.name].title} {word}")
    return found


def state_reasons(term: StateTerm, places: list[int], device_class: DeviceClass) -> list[str]:
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


def _of_states(model: PriceModel, one: ConditionTable) -> list[str]:
    found: list[str] = []
    for term in model.design.terms:
        if isinstance(term, FaultTerm | StateTerm):
            states = term.states if isinstance(term, FaultTerm) else term
            places = [int(place) for place in term.piece(one).places[0] if place >= 0]
            found += state_reasons(states, places, model.device_class)
    return found


def _of_numbers(model: PriceModel, one: ConditionTable) -> list[str]:
    found = []
    for term in model.design.terms:
        if isinstance(term, NumberTerm) and float(term.outside(one)[0]) > 0:
            value = float(one.numbers[term.name][0])
            found.append(f"{term.name} {value:g} is outside the sales ({term.low:g} to {term.high:g})")
    return found


def _of_time(model: PriceModel, one: ConditionTable) -> list[str]:
    day = day_of(one, 0)
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
