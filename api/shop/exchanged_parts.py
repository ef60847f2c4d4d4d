"""Parts lists and stock in any currency, told as records: converted to the plan's currency at the rate of its day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from api.shop.plans import PlanWish
from api.shop.shop import Shop
from data.importing.rates import STALE_DAYS, DatedRate, Rates, ReferenceRates, table_rates
from pricing.errors import NotFound, Problem, refused
from pricing.estimation.estimate import currency_of
from pricing.hedonic.model import PriceModel
from pricing.records.day_rate import DayRate
from pricing.records.money import Money, rounded
from pricing.records.part_offer import PartOffer
from pricing.records.stock import StockPart


@dataclass(frozen=True)
class ExchangedParts:
    """A parts list and a stock in the plan's currency.

    Attributes:
        offers, stock: As given, with amounts in the plan's currency; an offer keeps its own price as ``quoted``.
        notices: Rates that are older than a week, each once.
    """

    offers: tuple[PartOffer, ...]
    stock: tuple[StockPart, ...]
    notices: tuple[str, ...]


def exchanged_parts(
    offers: Sequence[PartOffer], stock: Sequence[StockPart], *, base: str, on: date, rates: Rates
) -> ExchangedParts:
    """Return offers and stock with all amounts in one currency, rounded to its minor unit.

    Args:
        offers, stock: In any currency.
        base: Currency of the plan.
        on: Day of the rates.
        rates: Where rates come from.

    Raises:
        BadInput: A currency has no rate on the day; one Problem for each amount.
    """
    exchange = _Exchange(base, on, rates)
    kept = tuple(_offer(exchange, offer, place) for place, offer in enumerate(offers))
    lying = tuple(_stock_part(exchange, part, place) for place, part in enumerate(stock))
    if exchange.problems:
        raise refused("plan", exchange.problems)
    return ExchangedParts(kept, lying, tuple(exchange.notices))


def in_model_currency(shop: Shop, model: PriceModel, wish: PlanWish, own: Sequence[DayRate] = ()) -> PlanWish:
    """Return a wish with its offers and stock in the model's currency.

    Args:
        shop: Tells the day, where the wish does not.
        model: Of the unit.
        wish: Offers and stock in any currency.
        own: The user's own rates, per unit of the model's currency; empty: the embedded reference rates.

    Raises:
        BadInput: A currency has no rate on the day, or a day has two rates for one currency.
    """
    base, day = currency_of(model), wish.on or shop.today
    _check_once(own)
    known = ((rate.on, rate.currency, rate.per_base) for rate in own)
    rates = table_rates(base, known) if own else ReferenceRates()
    found = exchanged_parts(wish.offers, wish.stock, base=base, on=day, rates=rates)
    return replace(wish, offers=found.offers, stock=found.stock, notices=(*wish.notices, *found.notices))


def _check_once(own: Sequence[DayRate]) -> None:
    seen: set[tuple[date, str]] = set()
    problems = []
    for place, rate in enumerate(own):
        if (rate.on, rate.currency) in seen:
            found = f"a second rate of {rate.currency} for {rate.on}"
            problems.append(Problem(f"rates, {place}", None, "currency", found, "one rate per day and currency"))
        seen.add((rate.on, rate.currency))
    if problems:
        raise refused("plan", problems)


@dataclass
class _Exchange:
    """Looks each currency's rate up once, and collects what is wrong."""

    base: str
    on: date
    rates: Rates
    known: dict[str, DatedRate | str] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    notices: dict[str, None] = field(default_factory=dict)

    def money(self, amount: Money | None, where: str) -> Money | None:
        """Return an amount in the base currency; unchanged, with a problem noted, where there is no rate."""
        if amount is None or amount.currency == self.base:
            return amount
        rate = self._rate(amount.currency)
        if isinstance(rate, str):
            expected = f"a currency with a rate for {self.on}: {rate}"
            self.problems.append(Problem(where, None, "currency", amount.currency, expected))
            return amount
        return Money(amount=rounded(amount.amount * rate.rate, self.base), currency=self.base)

    def _rate(self, currency: str) -> DatedRate | str:
        if currency not in self.known:
            try:
                found = self.rates.rate(currency, self.base, self.on)
            except NotFound as error:
                self.known[currency] = str(error)
            else:
                self.known[currency] = found
                age = (self.on - found.day).days
                if age > STALE_DAYS:
                    self.notices[f"the rate of {currency} is of {found.day}, {age} days before {self.on}"] = None
        return self.known[currency]


def _offer(exchange: _Exchange, offer: PartOffer, place: int) -> PartOffer:
    where = f"offers, {place}, {offer.part}"
    money = {"price": exchange.money(offer.price, where), "postage": exchange.money(offer.postage, where)}
    quoted = offer.price if offer.quoted is None else offer.quoted
    return offer.model_copy(update={**money, "quoted": quoted})


def _stock_part(exchange: _Exchange, part: StockPart, place: int) -> StockPart:
    where = f"stock, {place}, {part.part}"
    money = {"cost": exchange.money(part.cost, where), "worth": exchange.money(part.worth, where)}
    return part.model_copy(update=money)
