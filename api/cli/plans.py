"""The command ``plan``."""

from __future__ import annotations

from collections.abc import Mapping
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
from api.cli.output import complain, note, print_json, say
from api.cli.plan_telling import tell_plan, tell_shelf
from api.error_replies import FOUND_SOMETHING, WELL
from api.shop.estimates import read_unit_of
from api.shop.files import write_text
from api.shop.models import model_for
from api.shop.plan_picture import plan_picture
from api.shop.plans import (
    PlanWish,
    keep_plan,
    plan_stored,
    plan_unit,
    read_lists,
    read_terms,
    usual_terms,
)
from api.shop.proceeds import SaleWish
from api.shop.statements import PlanStatement
from api.shop.units import given_or_stored
from pricing.errors import counted
from pricing.records.plan import Plan
from pricing.records.shelf import ShelfPlan

PartsOption = Annotated[
    Path | None, typer.Option("--parts", metavar="FILE", help="Where parts can be had, as CSV.")
]
HoursOption = Annotated[
    float | None, typer.Option("--hours", help="Bench hours of the week, for the store's units together.")
]
SvgOption = Annotated[
    Path | None, typer.Option("--svg", metavar="FILE", help="Write the tree here as a picture.")
]
StockOption = Annotated[
    Path | None, typer.Option("--stock", metavar="FILE", help="Parts that lie there already, as CSV: part, cost, ...")
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
    number: Annotated[str | None, typer.Option("--number", metavar="UNIT", help="A stored unit instead.")] = None,
    hours: HoursOption = None,
    parts: PartsOption = None,
    stock: StockOption = None,
    terms: TermsOption = None,
    channel: ChannelOption = None,
    zone: Annotated[str | None, typer.Option("--zone", help="Where it is sent.")] = None,
    country: Annotated[str | None, typer.Option("--country", help="Whose tax is charged (DE).")] = None,
    svg: SvgOption = None,
    keep: Annotated[bool, typer.Option("--keep", help="Keep the plan in the store, with the unit as it is.")] = False,
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

    Without --unit: what to do with all units of the store, who gives parts to whom, and the jobs of a week.

    Example: plainsale plan --model phone.json --unit unit.json --svg plan.svg

    Raises:
        typer.BadParameter: Options are given together that do not go together.
    """
    one = unit is not None or number is not None
    _check_together(unit, number, hours, {"--svg": svg is not None, "--keep": keep})
    shop = open_shop(store)
    chosen = model_for(shop, model, class_name)
    lists = read_lists(shop, chosen, parts=parts, stock=stock, on=on, rates=rates)
    note(*lists.notices)
    if lists.problems:
        complain(f"{counted(len(lists.problems), 'problem')} in the lists of parts", lists.problems)
        if not keep_good:
            return FOUND_SOMETHING
    sale = None if channel is None else SaleWish(channel, unit_number=number, zone=zone, country=country, on=on)
    known = usual_terms() if terms is None else read_terms(terms)
    wish = PlanWish(lists.offers, lists.stock, known, sale, on, seed, always)
    if one:
        described = given_or_stored(shop, None if unit is None else read_unit_of(chosen, unit), number)
        if keep:
            _show_kept(keep_plan(shop, chosen, described, wish), svg, as_json)
        else:
            _show_plan(plan_unit(shop, chosen, described, wish), svg, as_json)
    else:
        _show_shelf(plan_stored(shop, chosen, wish, hours=hours), as_json)
    return FOUND_SOMETHING if lists.problems else WELL


def _check_together(unit: Path | None, number: str | None, hours: float | None, of_one: Mapping[str, bool]) -> None:
    """Let pass options that go together.

    Raises:
        typer.BadParameter: They do not.
    """
    if unit is not None and number is not None:
        raise typer.BadParameter("--unit and --number name two units; give one")
    one = unit is not None or number is not None
    if one and hours is not None:
        raise typer.BadParameter("--hours goes with the store's units together, not with one unit")
    wanted = [name for name, given in of_one.items() if given]
    if wanted and not one:
        raise typer.BadParameter(f"{wanted[0]} goes with one unit: --unit or --number")


def _show_kept(kept: PlanStatement, svg: Path | None, as_json: bool) -> None:
    if not as_json:
        _show_plan(kept.said, svg, as_json)
        say(f"Kept as plan {kept.number}.")
        return
    if svg is not None:
        write_text(svg, plan_picture(kept.said))
    about = {"number": kept.number, "unit_number": kept.unit.number, "at": kept.at, "digest": kept.digest}
    print_json({**about, "plan": kept.said.model_dump(mode="json")})


def _show_plan(found: Plan, svg: Path | None, as_json: bool) -> None:
    if svg is not None:
        write_text(svg, plan_picture(found))
    if as_json:
        print_json(found.model_dump(mode="json"))
    else:
        tell_plan(found)


def _show_shelf(found: ShelfPlan, as_json: bool) -> None:
    if as_json:
        print_json(found.model_dump(mode="json"))
    else:
        tell_shelf(found)
