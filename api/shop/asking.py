"""Asking: what to ask for a unit, from its estimate, the time such units took to sell, and what holding it costs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

import numpy as np
from scipy import stats

from api.shop.models import stored_sales
from api.shop.net_terms import net_terms
from api.shop.plans import daily_fall
from api.shop.proceeds import SaleWish
from api.shop.shop import Shop
from pricing.decisions.asking import NetOf, Offering, ask_curve, best_ask, round_asks
from pricing.decisions.listing_history import paid_share, rows_with_history, waits_of
from pricing.decisions.price_steps import best_steps, told_steps
from pricing.decisions.time_to_sell import FEWEST_SOLD, Waits, learn_waiting
from pricing.decisions.waiting_law import WaitingLaw, assumed_law
from pricing.errors import Abstained, BadInput, Problem
from pricing.estimation.estimate import currency_of, estimate_columns
from pricing.estimation.without_sale import estimates_without
from pricing.hedonic.model import PriceModel
from pricing.records.asking import AskAdvice, WaitingBasis
from pricing.records.device_class import DeviceClass
from pricing.records.money import money_from_float
from pricing.records.sales_table import FloatArray, SalesTable
from pricing.records.unit import Unit
from pricing.records.unit_columns import check_unit, columns_of_units

MOST_LISTINGS = 20_000
FALLBACK_SHARE = 0.6
_CURVE_POINTS, _LOWEST, _HIGHEST = 15, 0.7, 1.4
_HIGHEST_ASK = 4.2
_MOST_PATIENCE = 3650


@dataclass(frozen=True)
class AskWish:
    """What asking is to reckon with.

    Attributes:
        sale: Where and how it is sold; None: the net is the price.
        holding: Cost of a day of holding it, beside the fall in price, in the model's currency.
        patience: Days after which it is given up.
        fallback: What it leaves then; None: the net of 60 percent of the estimate.
        every: Days between steps of the ask.
        sales: The sales behind the model, with their listings' history; None: those in the store.
        on: Day to price for; None: the model's own.
        always: Answer even where the model would give no figure.
    """

    sale: SaleWish | None = None
    holding: Decimal = Decimal(0)
    patience: int = 60
    fallback: Decimal | None = None
    every: int = 14
    sales: SalesTable | None = None
    on: date | None = None
    always: bool = False


def ask_advice(shop: Shop, model: PriceModel, unit: Unit, wish: AskWish) -> AskAdvice:
    """Return what to ask for a unit, the whole curve of asks, and steps by which the ask comes down.

    Raises:
        BadInput: The unit does not fit the class, a figure is out of its range, or the channel is in another currency.
        NotFound: There is no such channel, zone or country.
        Abstained: The model declines to price the unit, and ``always`` is not set.
    """
    check_unit(unit, model.device_class)
    _check(wish)
    estimate, currency = _estimate(model, unit, wish), currency_of(model)
    pool = stored_sales(shop, model.device_class.name) if wish.sales is None else wish.sales
    law, basis = waiting_of(shop, model, pool)
    terms, paid = net_terms(shop, model, wish.sale), None if pool is None else paid_share(pool)
    fall = daily_fall(model, unit, wish.on) * estimate
    guessed = float(terms.exact(np.array([FALLBACK_SHARE * estimate]))[0])
    fallback = guessed if wish.fallback is None else float(wish.fallback)
    waiting, holding = law.for_unit(estimate), float(wish.holding) + fall
    exact, curve = (_after_bargaining(net, paid) for net in (terms.exact, terms.curve(_HIGHEST_ASK * estimate)))
    offering = Offering(waiting, exact, currency, holding, float(wish.patience), fallback)
    best = np.array([best_ask(offering, estimate)])
    quick = replace(offering, net_of=curve)
    steps = best_steps(quick, estimate, float(wish.every))
    low, high = min(_LOWEST * estimate, best[0]), max(_HIGHEST * estimate, best[0])
    return AskAdvice(
        estimate=money_from_float(estimate, currency),
        best=ask_curve(offering, waiting, best)[0],
        curve=ask_curve(offering, waiting, round_asks(low, high, _CURVE_POINTS, currency)),
        steps=told_steps(steps, currency),
        steps_expected=money_from_float(float(steps.values[0]), currency),
        holding_per_day=money_from_float(holding, currency),
        patience=wish.patience,
        fallback=money_from_float(fallback, currency),
        basis=basis,
        assumes=(*_assumes(wish, fall, paid, currency), *terms.in_words()),
    )


def waiting_of(shop: Shop, model: PriceModel, sales: SalesTable | None) -> tuple[WaitingLaw, WaitingBasis]:
    """Return how long units of the model's class wait, and what that rests on; ``sales`` None: there are none."""
    assumption = model.device_class.waiting
    waits = None if sales is None else _waits(model, sales, shop.today)
    law = assumed_law(assumption) if waits is None else learn_waiting(waits, assumption)
    counts = (0, 0) if waits is None else (len(waits.days), int(waits.sold.sum()))
    return law, _basis(law, counts, model.device_class)


def _waits(model: PriceModel, sales: SalesTable, today: date) -> Waits:
    rows = rows_with_history(sales, today)
    if len(rows) > MOST_LISTINGS:
        rows = rows[np.linspace(0, len(rows) - 1, MOST_LISTINGS).astype(np.intp)]
    chosen = sales.take(rows)
    if not len(rows):
        return Waits(np.empty(0), np.empty(0, dtype=np.bool_), np.empty(0))
    return waits_of(chosen, estimates_without(model, chosen), today)


def _basis(law: WaitingLaw, counts: tuple[int, int], device_class: DeviceClass) -> WaitingBasis:
    learnt = law.basis == "listings"
    reach = float(stats.norm.ppf(0.975) * np.sqrt(law.covariance[1, 1]))
    median = float(np.exp(law.constant + law.spread * np.log(np.log(2))))
    return WaitingBasis(
        kind=law.basis,
        listings=counts[0],
        sold=counts[1],
        median_days=median,
        steepness=law.slope,
        steepness_low=law.slope - reach if learnt else None,
        steepness_high=law.slope + reach if learnt else None,
        shape=1 / law.spread,
        words=_words(law, counts, median, device_class.name),
    )


def _words(law: WaitingLaw, counts: tuple[int, int], median: float, name: str) -> str:
    listings, sold = counts
    figures = (
        f"half of what is offered at its estimate sells in {median:.1f} days; "
        f"1 % more asked goes with {law.slope:.1f} % more days"
    )
    known = f"{listings:,} listings with a known start, ask and end, {sold:,} of them sold"
    choice = "this is association, not cause: each ask was its seller's choice"
    if law.basis == "listings":
        return f"learnt from {known}: {figures}; {choice}"
    if law.basis == "assumed":
        needed = f"there are {known}; {FEWEST_SOLD} sold ones are needed"
        return f"ASSUMED as the class {name} states, not learnt, for {needed}: {figures}"
    why = "because dearer units did not clearly sell later in"
    return f"the days are learnt, the effect of the ask is ASSUMED as the class {name} states, {why} {known}: {figures}"


def _estimate(model: PriceModel, unit: Unit, wish: AskWish) -> float:
    """Return the unit's estimate.

    Raises:
        Abstained: The model declines, and ``always`` is not set.
    """
    table = columns_of_units((unit,), model.device_class)
    columns = estimate_columns(model, table, on=wish.on, always=wish.always)
    if columns.abstained[0] is not None:
        raise Abstained(columns.abstained[0])
    return float(columns.estimate[0])


def _after_bargaining(net: NetOf, paid: float | None) -> NetOf:
    """Return what asks leave when a buyer pays that share of them; None: all."""
    share = 1.0 if paid is None else paid

    def net_of(asks: FloatArray) -> FloatArray:
        """Return what a sale at these asks leaves."""
        return net(share * np.asarray(asks))

    return net_of


def _assumes(wish: AskWish, fall: float, paid: float | None, currency: str) -> tuple[str, ...]:
    told = ["what is paid is what was asked: too few sales tell both"]
    if paid is not None:
        told = [f"a buyer pays {100 * paid:.1f} % of what is asked, as in the sales that tell both"]
    if fall:
        per_day = money_from_float(fall, currency)
        told.append(f"prices of such units fall: {per_day.amount} {currency} a day is counted as a cost of holding")
    if wish.fallback is None:
        share = f"{100 * FALLBACK_SHARE:.0f} % of the estimate"
        told.append(f"given up after {wish.patience} days it is sold for {share} (assumed; name your own)")
    return tuple(told)


def _check(wish: AskWish) -> None:
    """Let pass a wish that can be answered.

    Raises:
        BadInput: With one Problem for each figure that is out of its range.
    """
    rules = (
        ("holding", wish.holding, wish.holding >= 0, "an amount of at least 0 a day"),
        ("patience", wish.patience, 1 <= wish.patience <= _MOST_PATIENCE, f"1 to {_MOST_PATIENCE} days"),
        ("every", wish.every, wish.every >= 1, "at least 1 day"),
    )
    problems = tuple(Problem("request", None, name, str(found), rule) for name, found, well, rule in rules if not well)
    if problems:
        raise BadInput(str(problems[0]), problems)
