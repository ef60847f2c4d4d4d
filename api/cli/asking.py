"""The command ``ask``."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Annotated

import typer

from api.cli.numbers import number_option
from api.cli.openings import open_shop
from api.cli.options import DayOption, JsonOption, ModelOption, StoredClassOption, StoreOption, UnitOption
from api.cli.output import print_json, say, show_table
from api.cli.telling import told_money
from api.error_replies import WELL
from api.shop.asking import AskWish, ask_advice
from api.shop.comparables import read_sales_file
from api.shop.curve_charts import ask_chart
from api.shop.estimates import read_unit_of
from api.shop.files import write_text
from api.shop.models import model_for
from api.shop.proceeds import SaleWish
from pricing.records.asking import SHOWN_DAYS, AskAdvice, AskPoint, SaleChance


def ask(
    unit: UnitOption,
    model: ModelOption = None,
    class_name: StoredClassOption = "",
    sales: Annotated[
        Path | None, typer.Option("--sales", metavar="FILE", help="The model's sales; without it, the store's.")
    ] = None,
    channel: Annotated[
        str | None, typer.Option("--channel", metavar="NAME", help="Where it is sold; without it no fees are counted.")
    ] = None,
    zone: Annotated[str | None, typer.Option("--zone", help="Where it is sent.")] = None,
    country: Annotated[
        str | None, typer.Option("--country", help="Whose tax is charged; the unit is then in the store.")
    ] = None,
    holding: Annotated[Decimal, number_option("--holding", "What a day of holding it costs.")] = Decimal(0),
    patience: Annotated[int, typer.Option("--patience", metavar="DAYS", help="Then it is given up.")] = 60,
    fallback: Annotated[
        Decimal | None, number_option("--fallback", "What it leaves then; else the net of 60 % of the estimate.")
    ] = None,
    every: Annotated[int, typer.Option("--every", metavar="DAYS", help="Days between steps of the ask.")] = 14,
    svg: Annotated[Path | None, typer.Option("--svg", metavar="FILE", help="Write the curve here as SVG.")] = None,
    on: DayOption = None,
    always: Annotated[bool, typer.Option("--always", help="Answer even where the model declines.")] = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Say what to ask for a unit, how soon it then sells, and how the ask comes down when it does not.

    Example: plainsale ask --model phone.json --unit unit.json --holding 0.20 --patience 45
    """
    shop = open_shop(store)
    chosen = model_for(shop, model, class_name)
    described = read_unit_of(chosen, unit)
    pool = None if sales is None else read_sales_file(shop, sales, chosen.device_class, keep_good=True).table
    number = described.number if country is not None else None
    sale = None if channel is None else SaleWish(channel, unit_number=number, zone=zone, country=country, on=on)
    wish = AskWish(
        sale=sale, holding=holding, patience=patience, fallback=fallback, every=every, sales=pool, on=on, always=always
    )
    found = ask_advice(shop, chosen, described, wish)
    if svg is not None:
        write_text(svg, ask_chart(found))
    if as_json:
        print_json(found.model_dump(mode="json"))
    else:
        tell_advice(found)
    return WELL


def tell_advice(found: AskAdvice) -> None:
    """Print what to ask, the curve, the steps, and what all of it rests on."""
    best = found.best
    say(f"Ask {told_money(best.ask)}, for a unit that is worth {told_money(found.estimate)}.")
    say(f"That is expected to leave {told_money(best.expected)}, after {best.mean_days:.0f} days on average.")
    say(f"Time to sell: {found.basis.words}.", "")
    currency = found.estimate.currency
    columns = (f"ask, {currency}", *(f"in {day} days" for day in SHOWN_DAYS), "mean days", "net", "expected")
    show_table(columns, [_row(point) for point in found.curve], right=columns)
    chances = (_told_chance(each) for each in best.chances)
    say("", f"At {told_money(best.ask)} it sells {', '.join(chances)}.")
    say("", f"When nobody comes (steps expected to leave {told_money(found.steps_expected)}):")
    steps = [(f"{step.from_day:.0f}", told_money(step.ask), f"{step.reached:.0%}") for step in found.steps]
    show_table(("from day", "ask", "still there"), steps, right=("from day", "ask", "still there"))
    say("", f"Holding costs {told_money(found.holding_per_day)} a day.")
    say(f"Given up after {found.patience} days it leaves {told_money(found.fallback)}.", "Taken to be so:")
    say(*(f"  - {line}" for line in found.assumes))


def _row(point: AskPoint) -> tuple[str, ...]:
    chances = (f"{chance.chance:.0%}" for chance in point.chances)
    amounts = (f"{money.amount:,f}" for money in (point.net, point.expected))
    return (f"{point.ask.amount:,f}", *chances, f"{point.mean_days:.0f}", *amounts)


def _told_chance(chance: SaleChance) -> str:
    told = f"within {chance.days} days in {100 * chance.chance:.0f} of 100 cases"
    if chance.low_95 is None or chance.high_95 is None:
        return told
    return f"{told} ({100 * chance.low_95:.0f} to {100 * chance.high_95:.0f})"
