"""Lots: the most to bid for one that is described and not yet bought."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

import numpy as np

from api.shop.lot_levels import lot_levels, usual_states
from api.shop.lot_states import unknown_functions, with_states
from api.shop.net_terms import net_terms
from api.shop.proceeds import SaleWish
from api.shop.shop import Shop
from api.shop.stating import stated
from data.importing.rates import Rates, ReferenceRates
from data.importing.unit_json import read_record
from data.importing.units_csv import read_units
from pricing.decisions.lot_bid import LotDraws, highest_bid
from pricing.decisions.lot_rates import MISSING, SWAPPED, LotStates, UnknownFunction, draw_states, expected_shares
from pricing.decisions.plan_solve import NetOf
from pricing.errors import Abstained, BadInput, Problem, refused
from pricing.estimation.estimate import currency_of, estimate_columns
from pricing.estimation.lot_draws import draw_lot
from pricing.hedonic.model import PriceModel
from pricing.records.lot import LotBid, LotTerms
from pricing.records.lot_rates import LotHistory, LotRates
from pricing.records.sales_table import ConditionTable, FloatArray
from pricing.records.unit import Unit
from pricing.records.unit_columns import check_unit, columns_of_units

MOST_UNITS = 500
_MOST_DRAWS, _FEWEST_DRAWS, _MOST_ROWS = 4000, 1000, 200_000
_NET_REACH = 6.0


@dataclass(frozen=True)
class LotWish:
    """What a bid is to reckon with.

    Attributes:
        terms: What comes on top of the hammer price.
        accepted: Chance of losing money that is accepted, above 0 and below 1.
        rivals: How many others bid.
        sale: Where and how its units are sold; None: the net is the price.
        rates: What may be wrong with units; None: as the class states.
        history: What the shop found in lots before.
        on: Day to price for; None: the model's own.
        seed: Fixes the draws.
        always: Answer even where the model would give no figure for a unit.
    """

    terms: LotTerms
    accepted: float = 0.1
    rivals: int = 0
    sale: SaleWish | None = None
    rates: LotRates | None = None
    history: LotHistory = field(default_factory=LotHistory)
    on: date | None = None
    seed: int = 0
    always: bool = False


def lot_terms(model: PriceModel, currency: str | None, amounts: Mapping[str, object]) -> LotTerms:
    """Return the terms of a lot from what was given, in the model's currency when none is named.

    Raises:
        BadInput: With one Problem for each amount or currency that is out of its range.
    """
    return stated(LotTerms, "lot", {"currency": currency or currency_of(model), **amounts})


def read_lot_units(model: PriceModel, path: Path) -> ConditionTable:
    """Return the units of a lot from a CSV file.

    Raises:
        NotFound: There is no such file.
        BadInput: It cannot be read, or a row is bad: a lot is bid for as a whole.
    """
    reading = read_units(path, model.device_class)
    if reading.problems:
        raise refused(path.name, reading.problems)
    return reading.table


def read_lot_history(path: Path) -> LotHistory:
    """Return what was found in lots before, from a JSON file.

    Raises:
        NotFound: There is no such file.
        BadInput: It is no JSON, or no such history; one Problem for each mistake.
    """
    return read_record(path, LotHistory)


def bid_for_units(
    shop: Shop, model: PriceModel, units: Sequence[Unit], wish: LotWish, *, rates: Rates | None = None
) -> LotBid:
    """Return the most to bid for a lot of these units; see ``bid_for_lot``.

    Raises:
        BadInput: A unit does not fit the model's class, or as ``bid_for_lot``.
        NotFound: As ``bid_for_lot``.
        Abstained: As ``bid_for_lot``.
    """
    for place, unit in enumerate(units, start=1):
        check_unit(unit, model.device_class, f"unit {unit.number or place}")
    _check_count(len(units))
    return bid_for_lot(shop, model, columns_of_units(units, model.device_class), wish, rates=rates)


def bid_for_lot(
    shop: Shop, model: PriceModel, units: ConditionTable, wish: LotWish, *, rates: Rates | None = None
) -> LotBid:
    """Return the most to bid for a lot.

    Args:
        shop: The shop.
        model: Of the class of its units.
        units: As the lot's description has them, one row each.
        wish: What the bid is to reckon with.
        rates: Rates of exchange, when the lot is sold in another currency; None: the embedded reference rates.

    Raises:
        BadInput: There is no unit or there are over 500, a figure is out of its range, the history names what the
            class does not know, or the channel is in another currency.
        NotFound: There is no such channel, zone or country, or no rate for the day.
        Abstained: The model declines to price a unit, and ``always`` is not set.
    """
    _check_count(units.rows)
    _check_history(wish.history, model)
    described = model.dated(units, wish.on)
    _check_estimates(model, described, wish)
    functions = unknown_functions(model.device_class, described)
    states, priced, level = _drawn(model, described, functions, wish)
    worth = _rates_of(model, wish).swapped_worth
    price = np.where(states.unit == SWAPPED, worth * priced, priced)
    net, counted = _net_of(shop, model, wish, float(np.quantile(price, 0.999)))
    there = states.unit != MISSING
    factor, turned = _factor(shop, model, wish, rates)
    draws = LotDraws(
        net=factor * (np.maximum(net(price), 0.0) * there).sum(axis=1),
        hours=there.sum(axis=1) * wish.terms.minutes / 60,
        level=level,
    )
    found = highest_bid(draws, wish.terms, accepted=wish.accepted, rivals=wish.rivals)
    named = ", ".join(function.name for function in functions) or "none"
    told = (f"drawn from rates, because the description leaves them open: {named}", *turned, *counted)
    return found.model_copy(update={"assumes": (*found.assumes, *told)})


def _drawn(
    model: PriceModel, described: ConditionTable, functions: tuple[UnknownFunction, ...], wish: LotWish
) -> tuple[LotStates, FloatArray, FloatArray]:
    """Return the drawn states of the units, their prices in those states, and the level of the lot in each draw."""
    count = int(np.clip(_MOST_ROWS // described.rows, _FEWEST_DRAWS, _MOST_DRAWS))
    rates, first = _rates_of(model, wish), 3 * wish.seed
    states = draw_states(rates, wish.history, functions, units=described.rows, draws=count, seed=first)
    expected = expected_shares(rates, wish.history, functions)
    worth = rates.swapped_worth
    usual = usual_states(model, described, functions, expected, swapped_worth=worth, seed=first + 2)
    stated = _columns(model, described, states)
    priced = draw_lot(model, described, stated, usual.table, usual.worth, draws=count, seed=first + 1)
    level = lot_levels(
        model, described, functions,
        usual=usual, by_error=priced.level, drawn=states.shares, expected=expected, swapped_worth=worth,
    )  # fmt: skip
    return states, priced.price, level


def _rates_of(model: PriceModel, wish: LotWish) -> LotRates:
    return wish.rates or model.device_class.lot_rates


def _columns(
    model: PriceModel, described: ConditionTable, states: LotStates
) -> Callable[[slice], ConditionTable]:
    def columns(part: slice) -> ConditionTable:
        """Return the units in the states of some draws."""
        functions = {name: drawn[part] for name, drawn in states.functions.items()}
        return with_states(model.device_class, described, replace(states, unit=states.unit[part], functions=functions))

    return columns


def _net_of(
    shop: Shop, model: PriceModel, wish: LotWish, highest: float
) -> tuple[NetOf, tuple[str, ...]]:
    terms = net_terms(shop, model, wish.sale)
    unsold = "a unit whose sale would leave less than nothing is not sold, and costs nothing more"
    return terms.curve(_NET_REACH * highest), (unsold, *terms.in_words())


def _factor(
    shop: Shop, model: PriceModel, wish: LotWish, rates: Rates | None
) -> tuple[float, tuple[str, ...]]:
    """Return how much of the lot's currency a unit of the model's is.

    Raises:
        NotFound: No rate was published for the day.
    """
    source, target = currency_of(model), wish.terms.currency
    if source == target:
        return 1.0, ()
    found = (rates or ReferenceRates()).rate(source, target, wish.on or shop.today)
    return float(found.rate), (f"1 {source} is {found.rate} {target}, the rate of {found.day}",)


def _check_count(units: int) -> None:
    """Let pass a lot that can be priced.

    Raises:
        BadInput: It has no unit, or too many.
    """
    if not 1 <= units <= MOST_UNITS:
        problem = Problem("lot", None, "units", f"{units} units", f"1 to {MOST_UNITS}")
        raise BadInput(str(problem), (problem,))


def _check_history(history: LotHistory, model: PriceModel) -> None:
    """Let pass a history of the class's own functions.

    Raises:
        BadInput: It names others.
    """
    known = model.device_class.functions_by_name
    problems = tuple(
        Problem("history", None, f"functions.{name}", name, f"a function of the class {model.device_class.name}")
        for name in history.functions
        if name not in known
    )
    if problems:
        raise refused("history", problems)


def _check_estimates(model: PriceModel, described: ConditionTable, wish: LotWish) -> None:
    """Let pass units that the model prices.

    Raises:
        Abstained: It declines, and ``always`` is not set.
    """
    reasons = estimate_columns(model, described, always=wish.always).abstained
    for place, reason in enumerate(reasons, start=1):
        if reason is not None:
            raise Abstained(f"unit {place} of the lot: {reason}")
