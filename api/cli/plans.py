"""The command ``plan``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from api.cli.openings import open_shop
from api.cli.options import (
    DayOption,
    JsonOption,
    KeepGoodOption,
    ModelOption,
    RatesOption,
    SeedOption,
    StoredClassOption,
    StoreOption,
)
from api.cli.output import complain, note, print_json
from api.cli.plan_telling import tell_plan, tell_shelf
from api.error_replies import FOUND_SOMETHING, WELL
from api.shop.estimates import read_unit_of
from api.shop.files import write_text
from api.shop.models import model_for
from api.shop.plan_picture import plan_picture
from api.shop.plans import PlanWish, plan_stored, plan_unit, read_parts_file, read_terms, usual_terms
from api.shop.proceeds import SaleWish
from pricing.records.plan import Plan

PartsOption = Annotated[
    Path | None, typer.Option("--parts", metavar="FILE", help="Where parts can be had, as CSV.")
]
TermsOption = Annotated[
    Path | None, typer.Option("--terms", metavar="FILE", help="Your bench as JSON: hour_cost, jobs, chances.")
]
ChannelOption = Annotated[
    str | None, typer.Option("--channel", metavar="NAME", help="Where it is sold; without it no fees are counted.")
]


def plan(
    unit: Annotated[
        Path | None, typer.Option("--unit", metavar="FILE", help="The unit as JSON; without it, the store's.")
    ] = None,
    hours: Annotated[
        float | None, typer.Option("--hours", help="Bench hours of the week, for the store's units together.")
    ] = None,
    parts: PartsOption = None,
    terms: TermsOption = None,
    channel: ChannelOption = None,
    zone: Annotated[str | None, typer.Option("--zone", help="Where it is sent.")] = None,
    country: Annotated[str | None, typer.Option("--country", help="Whose tax is charged (DE).")] = None,
    svg: Annotated[Path | None, typer.Option("--svg", metavar="FILE", help="Write the tree here as a picture.")] = None,
    model: ModelOption = None,
    class_name: StoredClassOption = "",
    rates: RatesOption = None,
    on: DayOption = None,
    seed: SeedOption = 0,
    always: Annotated[bool, typer.Option("--always", help="Plan even where the model declines.")] = False,
    keep_good: KeepGoodOption = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Say what to do with a unit: which repairs, in which order, and when to stop; or with all of the store's.

    Example: plainsale plan --model phone.json --unit unit.json --svg plan.svg

    Raises:
        typer.BadParameter: Hours are given for one unit, or a picture is wanted of many.
    """
    if (unit is None and svg is not None) or (unit is not None and hours is not None):
        raise typer.BadParameter("--svg goes with --unit, --hours with the store's units")
    shop = open_shop(store)
    chosen = model_for(shop, model, class_name)
    offers = None if parts is None else read_parts_file(shop, chosen, parts, on=on, rates=rates)
    if offers is not None and offers.problems:
        complain(f"{len(offers.problems)} cells of {parts} are wrong", offers.problems)
        if not keep_good:
            return FOUND_SOMETHING
    sale = None if channel is None else SaleWish(channel, unit_number=None, zone=zone, country=country, on=on)
    wish = PlanWish(
        offers=() if offers is None else offers.offers,
        terms=usual_terms() if terms is None else read_terms(terms),
        sale=sale,
        on=on,
        seed=seed,
        always=always,
    )
    note(*(() if offers is None else offers.notices))
    found = (
        plan_stored(shop, chosen, wish, hours=hours)
        if unit is None
        else plan_unit(shop, chosen, read_unit_of(chosen, unit), wish)
    )
    if svg is not None and isinstance(found, Plan):
        write_text(svg, plan_picture(found))
    if as_json:
        print_json(found.model_dump(mode="json"))
    elif isinstance(found, Plan):
        tell_plan(found)
    else:
        tell_shelf(found)
    return FOUND_SOMETHING if offers is not None and offers.problems else WELL
