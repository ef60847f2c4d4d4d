"""What a sale would leave: on a channel, after tax, over the unit's basis; and the answer to an offer."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path

from api.shop.channels import channel_called
from api.shop.costs import UnitCosts, refused, unit_costs
from api.shop.shop import Shop
from data.catalogue.channel_reader import channel_names
from data.catalogue.tax_reader import find_tax_table
from data.importing.rates import Rates, ReferenceRates
from pricing.decisions.ledger import profit_of
from pricing.decisions.lowest_price import lowest_price
from pricing.decisions.offers import SUPPOSED, Counter, answer_offer, supposed_counters
from pricing.decisions.proceeds import SaleTerms, net_proceeds
from pricing.records.cost import Basis, BasisLine, Profit
from pricing.records.money import Money, rounded
from pricing.records.proceeds import NetProceeds, OfferAnswer
from pricing.records.tax import NOT_REGISTERED, TaxPosition, TaxTable


@dataclass(frozen=True)
class SaleWish:
    """How a sale is thought of.

    Attributes:
        channel: Name of the channel; a Path is that of its file.
        unit_number: Number of the stored unit; None: no unit, so there is no basis and no purchase.
        zone: Where it is sent; None: the channel's first zone.
        country: Whose tax is charged; None: the shop is not registered.
        pooled: Margins are counted together by period.
        on_full_price: The usual rules, although a scheme for second-hand goods would be allowed.
        lot_credits: What is left in the pool of credits of divided lots (GST).
        on: Day of the sale; None: today.
    """

    channel: str | Path
    unit_number: str | None = None
    zone: str | None = None
    country: str | None = None
    pooled: bool = False
    on_full_price: bool = False
    lot_credits: Money | None = None
    on: date | None = None


@dataclass(frozen=True)
class SaleOutlook:
    """What a sale would leave.

    Attributes:
        proceeds: Line by line.
        break_even: Lowest price that leaves the unit's basis; None without one.
        profit: Over the basis; None without one.
        notices: Rates that were used.
    """

    proceeds: NetProceeds
    break_even: Money | None
    profit: Profit | None
    notices: tuple[str, ...]


@dataclass(frozen=True)
class OfferWish:
    """An offer and what stands against it.

    Attributes:
        offer: What the buyer offers.
        waiting: Expected net of going on without this buyer, holding costs taken off.
        ask: What is asked; None: no counter is tried.
        counters: Prices with known chances; empty: those between offer and ask, with supposed chances.
        stands: Chance that the offer still stands after a counter was refused.
    """

    offer: Money
    waiting: Money
    ask: Money | None = None
    counters: tuple[Counter, ...] = ()
    stands: Decimal = Decimal(0)


def list_channels(shop: Shop) -> tuple[str, ...]:
    """Return the names of the channels there are."""
    return channel_names(shop.settings.channel_folder)


def counters_of(prices: Iterable[tuple[Money, Decimal]]) -> tuple[Counter, ...]:
    """Return prices with their chances as counters."""
    return tuple(Counter(price, chance) for price, chance in prices)


def sale_outlook(shop: Shop, price: Money, wish: SaleWish, *, rates: Rates | None = None) -> SaleOutlook:
    """Return what a sale at a price would leave, and the price at which the unit's costs come back.

    Raises:
        NotFound: There is no such unit, channel, zone or country; or a rate or limit does not reach to the day.
        BadInput: The price or a file is wrong, or what the tax depends on is not known or not proven.
    """
    terms, costs = sale_terms(shop, wish)
    proceeds = net_proceeds(price, terms)
    if costs is None or costs.basis is None:
        return SaleOutlook(proceeds, None, None, ())
    basis, notices = _in_currency(costs.basis, price.currency, rates or ReferenceRates())
    return SaleOutlook(proceeds, lowest_price(basis.total, terms), profit_of(proceeds, basis), notices)


def offer_answer(shop: Shop, asked: OfferWish, wish: SaleWish) -> OfferAnswer:
    """Return the answer to an offer that is expected to leave most.

    Raises:
        NotFound: As ``sale_outlook``.
        BadInput: As ``sale_outlook``; or a chance is none, a counter is not above the offer, or currencies differ.
    """
    terms, _ = sale_terms(shop, wish)
    if asked.ask is not None and asked.ask.currency != asked.offer.currency:
        raise refused("offer", "ask", asked.ask.currency, f"{asked.offer.currency}, like the offer")
    supposed = () if asked.counters or asked.ask is None else supposed_counters(asked.offer, asked.ask)
    return answer_offer(
        asked.offer,
        terms,
        waiting=asked.waiting,
        counters=asked.counters or supposed,
        stands=asked.stands,
        assumes=(SUPPOSED,) if supposed else (),
    )


def sale_terms(shop: Shop, wish: SaleWish) -> tuple[SaleTerms, UnitCosts | None]:
    """Return all that decides what a price leaves, and the unit's ledger.

    Raises:
        NotFound: There is no such unit, channel or country.
        BadInput: A file is wrong.
    """
    on = wish.on or shop.today
    costs = None if wish.unit_number is None else unit_costs(shop, wish.unit_number, on=on)
    position, table = _tax(shop, wish)
    basis = None if costs is None else costs.basis
    terms = SaleTerms(
        channel=channel_called(shop, wish.channel),
        on=on,
        zone=wish.zone,
        position=position,
        table=table,
        purchase=None if costs is None else costs.unit.purchase,
        cost=None if basis is None else basis.paid_to_seller,
        lot_credits=wish.lot_credits,
        input_tax=None if basis is None else basis.seller_tax_back,
    )
    return terms, costs


def _tax(shop: Shop, wish: SaleWish) -> tuple[TaxPosition, TaxTable | None]:
    if wish.country is None:
        return NOT_REGISTERED, None
    table = find_tax_table(wish.country, shop.settings.tax_folder)
    position = TaxPosition(
        kind=table.kind, country=table.country, pooled=wish.pooled, on_full_price=wish.on_full_price
    )
    return position, table


def _in_currency(basis: Basis, currency: str, rates: Rates) -> tuple[Basis, tuple[str, ...]]:
    """Return the basis in the money of the sale, at the rate of its day.

    Raises:
        NotFound: No rate was published.
    """
    if basis.currency == currency:
        return basis, ()
    found = rates.rate(basis.currency, currency, basis.on)

    def turned(money: Money) -> Money:
        """Return an amount in the other currency."""
        return Money(amount=rounded(money.amount * found.rate, currency), currency=currency)

    lines = tuple(BasisLine(kind=line.kind, amount=turned(line.amount)) for line in basis.lines)
    moved = Basis(
        on=basis.on,
        currency=currency,
        total=Money(amount=sum((line.amount.amount for line in lines), start=Decimal(0)), currency=currency),
        lines=lines,
        paid_to_seller=None if basis.paid_to_seller is None else turned(basis.paid_to_seller),
        seller_tax_back=turned(basis.seller_tax_back),
        entries=basis.entries,
    )
    said = f"the basis of {basis.total.amount} {basis.currency} was turned into {currency} at the rate of {found.day}"
    return moved, (said,)
