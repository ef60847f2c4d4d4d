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
    UnitOption,
)
from api.cli.output import complain, note, print_json
from api.cli.plan_telling import tell_plan
from api.error_replies import FOUND_SOMETHING, WELL
from api.shop.estimates import read_unit_of
from api.shop.files import write_text
from api.shop.models import model_for
from api.shop.plan_picture import plan_picture
from api.shop.plans import PlanWish, plan_unit, read_parts_file, read_terms, usual_terms
from api.shop.proceeds import SaleWish

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
    unit: UnitOption,
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
    """Say what to do with a unit: which repairs, in which order, and when to stop.

    Example: plainsale plan --model phone.json --unit unit.json --svg plan.svg
    """
    shop = open_shop(store)
    chosen = model_for(shop, model, class_name)
    described = read_unit_of(chosen, unit)
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
    found = plan_unit(shop, chosen, described, wish)
    note(*(() if offers is None else offers.notices))
    if svg is not None:
        write_text(svg, plan_picture(found))
    if as_json:
        print_json(found.model_dump(mode="json"))
    else:
        tell_plan(found)
    return FOUND_SOMETHING if offers is not None and offers.problems else WELL
