"""The command ``lot``."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Annotated

import typer

from api.cli.numbers import number_option
from api.cli.openings import open_shop
from api.cli.options import DayOption, JsonOption, ModelOption, SeedOption, StoredClassOption, StoreOption
from api.cli.output import print_json, say, show_table, working
from api.cli.telling import told_money
from api.error_replies import WELL
from api.shop.curve_charts import bid_chart
from api.shop.files import write_text
from api.shop.lots import LotWish, bid_for_lot, lot_terms, read_lot_history, read_lot_units
from api.shop.models import model_for
from api.shop.proceeds import SaleWish
from pricing.records.lot import BidPoint, LotBid
from pricing.records.lot_rates import LotHistory

_NOTHING = Decimal(0)
CurrencyOption = Annotated[
    str | None, typer.Option("--currency", metavar="CUR", help="Currency of the bid; else the model's.")
]
HistoryOption = Annotated[
    Path | None, typer.Option("--history", metavar="FILE", help="What you found in lots before, as JSON.")
]
ChannelOption = Annotated[
    str | None, typer.Option("--channel", metavar="NAME", help="Where units are sold; else no fees are counted.")
]


def lot(
    units: Annotated[Path, typer.Option("--units", metavar="FILE", help="The lot's units as CSV, one row each.")],
    model: ModelOption = None,
    class_name: StoredClassOption = "",
    accept: Annotated[Decimal, number_option("--accept", "Percent of lots that may lose money.")] = Decimal(10),
    rivals: Annotated[int, typer.Option("--rivals", metavar="N", help="How many others bid for it.")] = 0,
    currency: CurrencyOption = None,
    premium: Annotated[Decimal, number_option("--premium", "Buyer's premium, percent.")] = _NOTHING,
    premium_tax: Annotated[Decimal, number_option("--premium-tax", "Tax on it that is lost, percent.")] = _NOTHING,
    hammer_tax: Annotated[Decimal, number_option("--hammer-tax", "Tax on the price that is lost, percent.")] = _NOTHING,
    duty: Annotated[Decimal, number_option("--import", "Duty and tax of import that are lost, percent.")] = _NOTHING,
    fixed: Annotated[Decimal, number_option("--fixed", "Other costs of the lot.")] = _NOTHING,
    carriage: Annotated[Decimal, number_option("--carriage", "Carriage of the lot.")] = _NOTHING,
    minutes: Annotated[float, typer.Option("--minutes", metavar="N", help="At the bench for each unit.")] = 20.0,
    hour_cost: Annotated[Decimal, number_option("--hour-cost", "An hour at the bench.")] = _NOTHING,
    history: HistoryOption = None,
    channel: ChannelOption = None,
    zone: Annotated[str | None, typer.Option("--zone", help="Where they are sent.")] = None,
    svg: Annotated[Path | None, typer.Option("--svg", metavar="FILE", help="Write the curve here as SVG.")] = None,
    on: DayOption = None,
    seed: SeedOption = 0,
    always: Annotated[bool, typer.Option("--always", help="Answer even where the model declines.")] = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Say the most to bid for a lot, as a hammer price: then as many lots lose money as you accept.

    What the description leaves open is drawn from rates: those of the class, then your own history.

    Example: plainsale lot --model phone.json --units phone-units.csv --premium 18 --carriage 60 --rivals 3
    """
    shop = open_shop(store)
    chosen = model_for(shop, model, class_name)
    amounts: dict[str, object] = {
        "premium_percent": premium, "premium_tax_percent": premium_tax, "hammer_tax_percent": hammer_tax,
        "import_percent": duty, "fixed": fixed, "carriage": carriage, "minutes": minutes, "hour_cost": hour_cost,
    }  # fmt: skip
    wish = LotWish(
        terms=lot_terms(chosen, currency, amounts),
        accepted=float(accept) / 100,
        rivals=rivals,
        sale=None if channel is None else SaleWish(channel, zone=zone, on=on),
        history=LotHistory() if history is None else read_lot_history(history),
        on=on,
        seed=seed,
        always=always,
    )
    described = read_lot_units(chosen, units)
    with working("Drawing"):
        found = bid_for_lot(shop, chosen, described, wish)
    _give(found, svg, as_json)
    return WELL


def _give(found: LotBid, svg: Path | None, as_json: bool) -> None:
    if svg is not None:
        write_text(svg, bid_chart(found))
    if as_json:
        print_json(found.model_dump(mode="json"))
    else:
        tell_bid(found)


def tell_bid(found: LotBid) -> None:
    """Print the bid, the curve, and what all of it rests on."""
    at_bid = found.at_bid
    if found.bid.amount:
        say(f"Bid at most {told_money(found.bid)}; with all that comes on top, {told_money(at_bid.cost)}.")
    else:
        say(f"Do not bid: even as a gift it loses money in {100 * at_bid.loss:.1f} of 100 cases.")
    say(f"Then {100 * at_bid.loss:.1f} of 100 like lots lose money; {100 * found.accepted:g} are accepted.")
    span = f"{told_money(at_bid.low_80, signed=True)} to {told_money(at_bid.high_80, signed=True)}"
    say(f"Expected profit {told_money(at_bid.profit, signed=True)}; 80 of 100 like lots: {span}.")
    if found.rivals:
        say(f"Without {found.rivals} rivals it would be {told_money(found.unshaded)}: winning is bad news.")
    say(f"The units are expected to leave {told_money(found.worth)} when sold.", "")
    columns = (f"hammer, {found.bid.currency}", "all costs", "chance of loss", "profit", "80 of 100 from", "to")
    show_table(columns, [_row(point) for point in found.curve], right=columns)
    say("", f"From {found.draws:,} draws. Taken to be so:")
    say(*(f"  - {line}" for line in found.assumes))


def _row(point: BidPoint) -> tuple[str, ...]:
    ends = (f"{money.amount:+,f}" for money in (point.profit, point.low_80, point.high_80))
    return (f"{point.hammer.amount:,f}", f"{point.cost.amount:,f}", f"{point.loss:.1%}", *ends)
