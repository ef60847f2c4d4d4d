"""Plans: what to do with a unit, from its model, a parts list, the terms of a bench and a channel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import numpy as np

from api.shop.cautions import cautions_of_plan
from api.shop.proceeds import SaleWish, sale_terms
from api.shop.shop import Shop
from api.shop.statements import PlanStatement
from api.shop.units import list_units
from data.importing.parts_csv import read_parts
from data.importing.rates_csv import read_rates_csv
from data.importing.stock_csv import read_stock
from data.importing.unit_json import read_record
from data.storage.page import Page
from pricing.decisions.net_curve import net_curve
from pricing.decisions.outlook import Outlook
from pricing.decisions.plan import Planner
from pricing.decisions.plan_solve import NetOf
from pricing.decisions.plan_states import Goods
from pricing.decisions.proceeds import exact_net
from pricing.decisions.repair_notes import repair_notes
from pricing.decisions.repairs import RepairCase, applicable, repair_problem
from pricing.decisions.shelf import plan_shelf
from pricing.decisions.stock import check_stock, stock_offers
from pricing.errors import Abstained, BadInput, Problem
from pricing.estimation.draws import draw_units
from pricing.estimation.estimate import currency_of, estimate_columns
from pricing.hedonic.model import PriceModel
from pricing.records.channel import checked_channel
from pricing.records.money import Money
from pricing.records.part_offer import PartOffer
from pricing.records.plan import Plan
from pricing.records.plan_terms import PlanTerms
from pricing.records.sales_table import FloatArray
from pricing.records.shelf import ShelfPlan
from pricing.records.stock import StockPart
from pricing.records.unit import Unit
from pricing.records.unit_columns import check_unit, columns_of_units

_MONTH_DAYS = 30
_ABOVE = 3.0


@dataclass(frozen=True)
class PlanWish:
    """What a plan is asked to reckon with.

    Attributes:
        offers: The parts list, in the model's currency.
        stock: The parts that lie there already, in the model's currency.
        terms: Of the bench.
        sale: How it is sold: channel, zone and tax; None: the net is the price.
        on: Day of the plan and of the prices; None: today, and the model's own day for prices.
        seed: Fixes the draws.
        always: Plan even where the model would give no figure.
        notices: What the user should know of how its lists were read.
    """

    offers: tuple[PartOffer, ...] = ()
    stock: tuple[StockPart, ...] = ()
    terms: PlanTerms = field(default_factory=PlanTerms)
    sale: SaleWish | None = None
    on: date | None = None
    seed: int = 0
    always: bool = False
    notices: tuple[str, ...] = ()


def read_terms(path: Path) -> PlanTerms:
    """Return the terms of a bench in a JSON file.

    Raises:
        NotFound: There is no such file.
        BadInput: It is no JSON, or no terms; one Problem for each mistake.
    """
    return read_record(path, PlanTerms)


def usual_terms() -> PlanTerms:
    """Return the terms that stand where a shop says nothing: common practice, no source."""
    return PlanTerms()


@dataclass(frozen=True)
class PlanLists:
    """What files say of parts, in the model's currency.

    Attributes:
        offers, stock: The good rows of the parts list and of the stock.
        problems: What is wrong in them, cell by cell; those rows were left out.
        notices: What the user should know of how they were read.
    """

    offers: tuple[PartOffer, ...] = ()
    stock: tuple[StockPart, ...] = ()
    problems: tuple[Problem, ...] = ()
    notices: tuple[str, ...] = ()


def read_lists(
    shop: Shop,
    model: PriceModel,
    *,
    parts: Path | None = None,
    stock: Path | None = None,
    on: date | None = None,
    rates: Path | None = None,
) -> PlanLists:
    """Return what a parts list and a stock of parts say; None: there is no such list.

    Raises:
        NotFound: There is no such file.
        BadInput: One cannot be read as a whole.
    """
    base, day, described = currency_of(model), on or shop.today, model.device_class
    known = None if rates is None else read_rates_csv(rates, base=base)
    offered = None if parts is None else read_parts(parts, described, base=base, on=day, rates=known)
    lying = None if stock is None else read_stock(stock, described, base=base, on=day, rates=known)
    readings = [reading for reading in (offered, lying) if reading is not None]
    return PlanLists(
        () if offered is None else offered.offers,
        () if lying is None else lying.stock,
        tuple(problem for reading in readings for problem in reading.problems),
        tuple(dict.fromkeys(notice for reading in readings for notice in reading.notices)),
    )


def plan_stored(shop: Shop, model: PriceModel, wish: PlanWish, *, hours: float | None = None) -> ShelfPlan:
    """Return what to do with all stored units of the model's class: stock, donors, and the jobs of a week.

    Args:
        shop: Holds the units.
        model: Of their class.
        wish: What to reckon with, the same for all; a unit's own ledger counts where ``sale`` is given.
        hours: Bench hours of the week; None: not limited.

    Raises:
        BadInput: The hours are below 0 or not a number, or the stock does not fit the class.
    """
    check_stock(wish.stock, model.device_class, currency_of(model))
    apart = replace(wish, stock=())
    stored = list_units(shop, device_class=model.device_class.name, limit=0, offset=0).items
    cases = []
    for each in stored:
        check_unit(each.unit, model.device_class)
        cases.append((str(each.unit.number), applicable(case_of(model, each.unit, apart))))

    def plan_of(case: RepairCase) -> Plan:
        """Return the plan of one case."""
        mine = replace(apart, offers=case.offers, terms=case.terms, sale=_sale_of(wish, case.unit))
        return plan_unit(shop, model, case.unit, mine)

    return plan_shelf(cases, plan_of, hours, wish.stock)


def _sale_of(wish: PlanWish, unit: Unit) -> SaleWish | None:
    return None if wish.sale is None else replace(wish.sale, unit_number=unit.number)


def plan_unit(shop: Shop, model: PriceModel, unit: Unit, wish: PlanWish) -> Plan:
    """Return what to do with a unit.

    Raises:
        BadInput: The unit, parts list, stock or terms do not fit the class, there are too many states, or the
            channel's currency is not the model's.
        NotFound: There is no such channel, zone or country, or no such unit in the ledger.
        Abstained: The model declines to price the unit, and ``always`` is not set.
    """
    check_unit(unit, model.device_class)
    check_stock(wish.stock, model.device_class, currency_of(model))
    check_estimate(model, unit, wish)
    case = case_of(model, unit, wish)
    problem = repair_problem(case)
    outlook = Outlook(unit, model.device_class, problem.actions, wish.on or shop.today)
    net_of, spent = net_of_wish(shop, model, unit, wish)
    prices = GoodsPrices(model, outlook, wish)
    plan = Planner(problem, prices.expected, net_of).plan(prices.drawn, spent=spent)
    reasons = (*repair_notes(case, problem, plan), *_notes_of_wish(wish), *wish.notices)
    cautions = cautions_of_plan(unit, model.device_class, problem.actions, plan.tree)
    known = {"reasons": reasons, "cautions": cautions, "on": wish.on or shop.today, "model": model.fingerprint}
    return plan.model_copy(update=known)


def keep_plan(shop: Shop, model: PriceModel, unit: Unit, wish: PlanWish) -> PlanStatement:
    """Plan what to do with a unit and keep what was said.

    Raises:
        BadInput: As for ``plan_unit``.
        NotFound: As for ``plan_unit``.
        Abstained: The model declines to price the unit, and ``always`` is not set.
    """
    plan = plan_unit(shop, model, unit, wish)
    with shop.store.writing(shop.now()) as work:
        return work.plans.add(unit, plan)


def get_plan(shop: Shop, number: int) -> PlanStatement:
    """Return a plan as it was given.

    Raises:
        NotFound: None has this number.
    """
    with shop.store.reading() as work:
        return work.plans.get(number)


def list_plans(shop: Shop, *, unit_number: str | None, limit: int, offset: int) -> Page[PlanStatement]:
    """Return plans, the latest first, all or of one unit."""
    with shop.store.reading() as work:
        return work.plans.page(unit_number=unit_number, limit=limit, offset=offset)


@dataclass(frozen=True, eq=False)
class GoodsPrices:
    """What the model says of goods of a plan, in money."""

    model: PriceModel
    outlook: Outlook
    wish: PlanWish

    def expected(self, goods: Sequence[Goods]) -> FloatArray:
        """Return the expected price of each of the goods, shape (goods,)."""
        return expected_prices(self.model, self.outlook.units_of(goods), self.wish.on)

    def drawn(self, goods: Sequence[Goods]) -> FloatArray:
        """Return joint draws, shape (draws, goods): the unit's own error is the same whatever becomes of it."""
        units = self.outlook.units_of(goods)
        return draw_units(self.model, units, seed=self.wish.seed, groups=[0] * len(units), on=self.wish.on)


def expected_prices(model: PriceModel, units: Sequence[Unit], on: date | None) -> FloatArray:
    """Return the expected price of each unit in money, shape (units,), where the model would abstain too."""
    return estimate_columns(model, columns_of_units(units, model.device_class), on=on, always=True).expected


def check_estimate(model: PriceModel, unit: Unit, wish: PlanWish) -> None:
    """Check that the model prices the unit as it is.

    Raises:
        Abstained: It declines, and ``always`` is not set.
    """
    columns = estimate_columns(model, columns_of_units((unit,), model.device_class), on=wish.on)
    reason = columns.abstained[0]
    if reason is not None and not wish.always:
        raise Abstained(reason)


def case_of(model: PriceModel, unit: Unit, wish: PlanWish) -> RepairCase:
    """Return the unit with all that bears on its repair, the fall in price as the model has it."""
    fall = daily_fall(model, unit, wish.on) if wish.terms.daily_fall is None else 0.0
    offers = (*wish.offers, *stock_offers(unit, wish.stock))
    return RepairCase(unit, model.device_class, offers, wish.terms, currency_of(model), fall)


def daily_fall(model: PriceModel, unit: Unit, on: date | None) -> float:
    """Return the share of a unit's price that a day takes, over the next 30 days; 0 where prices do not fall."""
    start = on or model.on
    if start is None or model.last_sale is None:
        return 0.0
    now, later = (float(expected_prices(model, (unit,), start + timedelta(days=d))[0]) for d in (0, _MONTH_DAYS))
    return max(0.0, 1 - float((later / now) ** (1 / _MONTH_DAYS)))


def net_of_wish(shop: Shop, model: PriceModel, unit: Unit, wish: PlanWish) -> tuple[NetOf, Money | None]:
    """Return net proceeds as a function of prices, and what the ledger says was spent on the unit.

    Raises:
        BadInput: The channel contradicts itself, or its currency is not the model's.
        NotFound: There is no such channel, zone or country.
    """
    if wish.sale is None:
        return _whole, None
    terms, costs = sale_terms(shop, wish.sale)
    currency = checked_channel(terms.channel).currency
    if currency != currency_of(model):
        problem = Problem("plan", None, "channel", currency, f"a channel in {currency_of(model)}, like the model")
        raise BadInput(str(problem), (problem,))
    highest = _ABOVE * float(expected_prices(model, (_mended(unit),), wish.on)[0])

    def net(price: Decimal) -> Decimal:
        """Return what one price leaves."""
        return exact_net(price, terms)

    return net_curve(net, highest), None if costs is None or costs.basis is None else costs.basis.total


def _whole(price: FloatArray) -> FloatArray:
    return np.asarray(price, dtype=np.float64)


def _mended(unit: Unit) -> Unit:
    """Return the unit with every fault gone, for the highest price that a plan may come to."""
    works = {n: t.model_copy(update={"status": "works"}) for n, t in unit.functions.items() if t.status != "not fitted"}
    return unit.model_copy(update={"functions": unit.functions | works})


def _notes_of_wish(wish: PlanWish) -> tuple[str, ...]:
    if wish.sale is None:
        return ("no channel was named: fees, postage, returns and tax are not counted",)
    taxed = "no tax, because no country was named" if wish.sale.country is None else f"tax of {wish.sale.country}"
    return (f"net of the channel {wish.sale.channel}; {taxed}",)
