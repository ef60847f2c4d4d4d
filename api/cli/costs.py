"""The command ``cost``: a unit's ledger, and what a sale would leave of a price."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Annotated

import typer

from api.cli.openings import open_shop
from api.cli.options import DayOption, JsonOption, StoreOption, parse_money
from api.cli.output import note, print_json
from api.cli.telling_costs import tell_answer, tell_costs, tell_kept, tell_outlook, tell_pool, tell_shares
from api.error_replies import WELL
from api.shop.costs import CostKept, UnitCosts, add_cost, take_back, unit_costs
from api.shop.lot_costs import LotShares, hand_on, lot_shares_of, read_lot_cost, share_lot
from api.shop.proceeds import OfferWish, SaleOutlook, SaleWish, offer_answer, sale_outlook
from api.shop.shop import Shop
from api.shop.stating import stated
from api.shop.tax_pool import closed_pool, read_pool
from pricing.records.cost import CostKind, NewCost
from pricing.records.money import Money
from pricing.records.purchase import PROOFS, Proof, Purchase, Way
from pricing.records.tax import PoolResult


def _money(name: str, words: str) -> typer.models.OptionInfo:
    option: typer.models.OptionInfo = typer.Option(name, parser=parse_money, metavar="MONEY", help=words)
    return option


def parse_share(text: str) -> Decimal:
    """Return a decimal number of the command line.

    Raises:
        typer.BadParameter: It is none.
    """
    try:
        number = Decimal(text)
    except InvalidOperation as error:
        raise typer.BadParameter(f"{text!r} is no number; expected one like 0.5") from error
    if not number.is_finite():
        raise typer.BadParameter(f"{text!r} is no finite number")
    return number


Number = Annotated[str | None, typer.Option("--number", metavar="UNIT", help="Number of the stored unit.")]
Add = Annotated[CostKind | None, typer.Option("--add", help="Write down a cost of this kind.")]
Paid = Annotated[Money | None, _money("--paid", "What was paid, as paid: '18.40 USD'.")]
Charged = Annotated[Money | None, _money("--charged", "What bank or card really took.")]
TaxBack = Annotated[
    Decimal, typer.Option("--tax-back", parser=parse_share, metavar="AMOUNT", help="Tax in it that comes back.")
]
Refund = Annotated[bool, typer.Option("--refund", help="Money that came back, not a cost.")]
Reason = Annotated[str, typer.Option("--reason", help="Why.")]
Base = Annotated[str | None, typer.Option("--base", metavar="CUR", help="Currency of a new ledger.")]
TakeBack = Annotated[int | None, typer.Option("--take-back", metavar="ENTRY", help="Take this entry back.")]
From = Annotated[Way | None, typer.Option("--bought-from", help="How the unit was bought.")]
ProofNumber = Annotated[str | None, typer.Option("--proof", help="Your number of the paper that shows it.")]
Lot = Annotated[
    Path | None, typer.Option("--lot", metavar="FILE", help="Divide this lot (JSON) into the ledgers of its units.")
]
LotNumber = Annotated[str | None, typer.Option("--lot-number", help="Show what the units of this lot carry.")]
Scrapped = Annotated[
    list[str], typer.Option("--scrapped", metavar="UNIT", help="Hand its costs on to the rest of the lot.")
]
Price = Annotated[Money | None, _money("--price", "Say what a sale at this price leaves.")]
ChannelName = Annotated[str, typer.Option("--channel", metavar="NAME", help="Where it is sold; or a TOML file.")]
Zone = Annotated[str | None, typer.Option("--zone", help="Where it is sent.")]
Tax = Annotated[str | None, typer.Option("--tax", metavar="COUNTRY", help="Registered for tax there: gb, de, au.")]
Pooled = Annotated[bool, typer.Option("--pooled", help="Margins are counted together by period.")]
FullPrice = Annotated[bool, typer.Option("--full-price", help="The usual tax rules for every unit.")]
LotCredits = Annotated[Money | None, _money("--lot-credits", "Left in the pool of credits of divided lots.")]
Pool = Annotated[
    Path | None, typer.Option("--pool", metavar="FILE", help="Close a period of pooled margins (JSON), with --tax.")
]
Offer = Annotated[Money | None, _money("--offer", "Answer this offer.")]
Waiting = Annotated[Money | None, _money("--waiting", "Expected net of waiting for somebody else.")]
Ask = Annotated[Money | None, _money("--ask", "What is asked: prices up to it are tried as counters.")]
Stands = Annotated[
    Decimal, typer.Option("--stands", parser=parse_share, help="Chance that the offer stands after a counter.")
]


def cost(
    number: Number = None,
    add: Add = None,
    paid: Paid = None,
    charged: Charged = None,
    tax_back: TaxBack = Decimal(0),
    refund: Refund = False,
    reason: Reason = "",
    base: Base = None,
    bought_from: From = None,
    proof: ProofNumber = None,
    take: TakeBack = None,
    lot: Lot = None,
    lot_number: LotNumber = None,
    scrapped: Scrapped = [],  # noqa: B006 - typer wants a list
    price: Price = None,
    channel: ChannelName = "counter",
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
    on: DayOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Write down what a unit costs, show its basis, or say what a sale at a price leaves.

    Example: plainsale cost --price "199 EUR" --channel online-market --zone home
    """
    shop = open_shop(store)
    written = {"paid": paid, "charged": charged, "bought-from": bought_from, "proof": proof}
    tasks = {
        "add": add, "take-back": take, "lot": lot, "lot-number": lot_number, "price": price, "offer": offer,
        "pool": pool,
    }  # fmt: skip
    _check_alone(tasks, written, scrapped)
    if add is not None:
        answers = {
            "kind": add, "on": on or shop.today, "paid": paid, "charged": charged, "tax_back": tax_back,
            "refund": refund, "reason": reason or add,
        }  # fmt: skip
        stated_cost = stated(NewCost, "cost", answers)
        bought = _purchase(bought_from, proof, stated_cost.on)
        return _show_kept(add_cost(shop, _named(number), stated_cost, base=base, purchase=bought), as_json)
    if take is not None:
        return _show_kept(take_back(shop, _named(number), take, reason or "a mistake", on=on), as_json)
    if lot is not None:
        return _show_shares(share_lot(shop, read_lot_cost(lot), base=base), as_json)
    if lot_number is not None:
        return _show_lot(shop, lot_number, scrapped, reason, on, as_json)
    if pool is not None:
        return _show_pool(closed_pool(shop, read_pool(pool), tax or ""), as_json)
    place = Path(channel) if channel.endswith(".toml") else channel
    wish = SaleWish(place, number, zone, tax, pooled, full_price, lot_credits, on)
    if offer is not None:
        return _answer(shop, OfferWish(offer, _wanted(waiting, "--waiting"), ask, (), stands), wish, as_json)
    if price is not None:
        return _show_outlook(sale_outlook(shop, price, wish), as_json)
    return _show_costs(unit_costs(shop, _named(number), on=on), as_json)


def _answer(shop: Shop, asked: OfferWish, wish: SaleWish, as_json: bool) -> int:
    answer = offer_answer(shop, asked, wish)
    if as_json:
        print_json(answer.model_dump(mode="json"))
    else:
        tell_answer(answer)
    return WELL


def _show_kept(kept: CostKept, as_json: bool) -> int:
    note(*kept.notices)
    if as_json:
        print_json({"entry": kept.kept.model_dump(mode="json"), "basis": kept.basis.model_dump(mode="json")})
    else:
        tell_kept(kept.kept, kept.basis)
    return WELL


def _show_lot(
    shop: Shop, number: str, scrapped: list[str], reason: str, on: date | None, as_json: bool
) -> int:
    if scrapped:
        return _show_shares(hand_on(shop, number, scrapped, on=on, reason=reason), as_json)
    return _show_shares(lot_shares_of(shop, number), as_json)


def _show_shares(shares: LotShares, as_json: bool) -> int:
    if as_json:
        by_unit = {number: share.model_dump(mode="json") for number, share in shares.shares.items()}
        print_json({"lot": shares.lot, "shares": by_unit, "total": shares.total.model_dump(mode="json")})
    else:
        tell_shares(shares.lot, shares.shares, shares.total)
    return WELL


def _show_pool(closed: PoolResult, as_json: bool) -> int:
    if as_json:
        print_json(closed.model_dump(mode="json"))
    else:
        tell_pool(closed)
    return WELL


def _show_costs(costs: UnitCosts, as_json: bool) -> int:
    if as_json:
        entries = [entry.model_dump(mode="json") for entry in costs.entries]
        print_json({"entries": entries, "basis": None if costs.basis is None else costs.basis.model_dump(mode="json")})
    else:
        tell_costs(str(costs.unit.number), costs.entries, costs.basis)
    return WELL


def _show_outlook(outlook: SaleOutlook, as_json: bool) -> int:
    note(*outlook.notices)
    if as_json:
        parts = {"proceeds": outlook.proceeds, "break_even": outlook.break_even, "profit": outlook.profit}
        print_json({name: None if part is None else part.model_dump(mode="json") for name, part in parts.items()})
    else:
        tell_outlook(outlook.proceeds, outlook.break_even, outlook.profit)
    return WELL


def _purchase(way: Way | None, proof: str | None, on: date) -> Purchase | None:
    """Return how a unit was bought, when the command line says it.

    Raises:
        typer.BadParameter: A paper is named, but not what it shows.
    """
    if way is None:
        if proof is not None:
            raise typer.BadParameter("--proof shows how a unit was bought: name that with --bought-from")
        return None
    papers = {"kind": PROOFS[way], "reference": proof, "dated": on}
    shown = None if proof is None else stated(Proof, "proof", papers)
    return Purchase(way=way, on=on, proof=shown)


def _named(number: str | None) -> str:
    """Return the unit's number.

    Raises:
        typer.BadParameter: None is given.
    """
    if number is None:
        raise typer.BadParameter("name a stored unit with --number, or a price with --price")
    return number


def _wanted(money: Money | None, option: str) -> Money:
    """Return the money.

    Raises:
        typer.BadParameter: None is given.
    """
    if money is None:
        raise typer.BadParameter(f"{option} is needed here, like {option} '18.40 EUR'")
    return money


def _check_alone(tasks: Mapping[str, object], written: Mapping[str, object], scrapped: list[str]) -> None:
    """Let pass one task at a time, and what belongs to writing down only with that.

    Raises:
        typer.BadParameter: Several are asked for, or an option without its task.
    """
    asked = [f"--{name}" for name, value in tasks.items() if value is not None]
    if len(asked) > 1:
        raise typer.BadParameter(f"one at a time, not {' and '.join(asked)}")
    alone = [f"--{name}" for name, value in written.items() if value is not None]
    if tasks["add"] is None and alone:
        raise typer.BadParameter(f"{alone[0]} belongs to a cost that is written down: name its kind with --add")
    if tasks["add"] is not None and written["paid"] is None:
        raise typer.BadParameter("--add needs --paid, like --paid '18.40 EUR'")
    if scrapped and tasks["lot-number"] is None:
        raise typer.BadParameter("--scrapped needs the number of the lot: --lot-number")
