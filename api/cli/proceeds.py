"""The command ``proceeds``: what a sale would leave of a price, the answer to an offer, pooled margins."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Annotated

import typer

from api.cli.openings import open_shop
from api.cli.options import JsonOption, StoreOption, day_option, money_option, parse_share
from api.cli.output import note, print_json
from api.cli.telling_costs import tell_answer, tell_outlook, tell_pool
from api.error_replies import WELL
from api.shop.proceeds import OfferWish, SaleOutlook, SaleWish, offer_answer, sale_outlook
from api.shop.shop import Shop
from api.shop.tax_pool import closed_pool, read_pool
from pricing.records.money import Money
from pricing.records.tax import PoolResult

Day = Annotated[date | None, day_option("Day of the sale, for tax rates and costs up to it; else today.")]
Number = Annotated[
    str | None, typer.Option("--number", metavar="UNIT", help="The stored unit, for its basis and its purchase.")
]
Price = Annotated[Money | None, money_option("--price", "Say what a sale at this price leaves.")]
ChannelName = Annotated[str, typer.Option("--channel", metavar="NAME", help="Where it is sold; or a TOML file.")]
Zone = Annotated[str | None, typer.Option("--zone", help="Where it is sent.")]
Tax = Annotated[str | None, typer.Option("--tax", metavar="COUNTRY", help="Registered for tax there: gb, de, au.")]
Pooled = Annotated[bool, typer.Option("--pooled", help="Margins are counted together by period.")]
FullPrice = Annotated[bool, typer.Option("--full-price", help="The usual tax rules for every unit.")]
LotCredits = Annotated[Money | None, money_option("--lot-credits", "Left in the pool of credits of divided lots.")]
Pool = Annotated[
    Path | None, typer.Option("--pool", metavar="FILE", help="Close a period of pooled margins (JSON), with --tax.")
]
Offer = Annotated[Money | None, money_option("--offer", "Answer this offer.")]
Waiting = Annotated[Money | None, money_option("--waiting", "Expected net of waiting for somebody else.")]
Ask = Annotated[Money | None, money_option("--ask", "What is asked: prices up to it are tried as counters.")]
Stands = Annotated[
    Decimal, typer.Option("--stands", parser=parse_share, help="Chance that the offer stands after a counter.")
]


def proceeds(
    price: Price = None,
    channel: ChannelName = "counter",
    number: Number = None,
    zone: Zone = None,
    tax: Tax = None,
    pooled: Pooled = False,
    full_price: FullPrice = False,
    lot_credits: LotCredits = None,
    pool: Pool = None,
    offer: Offer = None,
    waiting: Waiting = None,
    ask: Ask = None,
    stands: Stands = Decimal(0),
    on: Day = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Say what a sale at a price leaves after fees, postage and tax, or how to answer an offer.

    Example: plainsale proceeds --price "199 EUR" --channel online-market --zone home

    Raises:
        typer.BadParameter: Not one of --price, --offer and --pool is given, or several.
    """
    if sum(asked is not None for asked in (price, offer, pool)) != 1:
        raise typer.BadParameter("give one of --price, --offer and --pool")
    shop = open_shop(store)
    if pool is not None:
        return _show_pool(closed_pool(shop, read_pool(pool), tax or ""), as_json)
    place = Path(channel) if channel.endswith(".toml") else channel
    wish = SaleWish(place, number, zone, tax, pooled, full_price, lot_credits, on)
    if offer is not None:
        return _answer(shop, OfferWish(offer, _wanted(waiting, "--waiting"), ask, (), stands), wish, as_json)
    return _show_outlook(sale_outlook(shop, _wanted(price, "--price"), wish), as_json)


def _answer(shop: Shop, asked: OfferWish, wish: SaleWish, as_json: bool) -> int:
    answer = offer_answer(shop, asked, wish)
    if as_json:
        print_json(answer.model_dump(mode="json"))
    else:
        tell_answer(answer)
    return WELL


def _show_outlook(outlook: SaleOutlook, as_json: bool) -> int:
    note(*outlook.notices)
    if as_json:
        parts = {"proceeds": outlook.proceeds, "break_even": outlook.break_even, "profit": outlook.profit}
        print_json({name: None if part is None else part.model_dump(mode="json") for name, part in parts.items()})
    else:
        tell_outlook(outlook.proceeds, outlook.break_even, outlook.profit)
    return WELL


def _show_pool(closed: PoolResult, as_json: bool) -> int:
    if as_json:
        print_json(closed.model_dump(mode="json"))
    else:
        tell_pool(closed)
    return WELL


def _wanted(money: Money | None, option: str) -> Money:
    """Return the money.

    Raises:
        typer.BadParameter: None is given.
    """
    if money is None:
        raise typer.BadParameter(f"{option} is needed here, like {option} '18.40 EUR'")
    return money
