"""The commands ``price`` and ``what-if``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from api.cli.openings import open_shop
from api.cli.options import DayOption, JsonOption, ModelOption, StoredClassOption, StoreOption, UnitOption
from api.cli.output import complain, note, print_json, say, show_table
from api.cli.telling import tell_estimate, tell_explanation, tell_what_if
from api.error_replies import FOUND_SOMETHING, WELL
from api.shop.estimates import (
    PriceSheet,
    explanation,
    price_file,
    price_store,
    read_unit_of,
    unit_estimate,
    what_if_changed,
    write_sheet,
)
from api.shop.models import model_for
from pricing.errors import counted

_SHORT_COLUMNS = ("estimate", "low_80", "high_80", "support", "abstained")
_SHOWN_ROWS = 50

AlwaysOption = Annotated[bool, typer.Option("--always", help="Give a figure even where the model declines.")]


def price(
    model: ModelOption = None,
    units: Annotated[
        Path | None, typer.Option("--units", metavar="FILE", help="Units as CSV; without it, the store's.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="Write the price sheet here as CSV.")
    ] = None,
    unit: Annotated[
        Path | None, typer.Option("--unit", metavar="FILE", help="One unit as JSON: priced and explained.")
    ] = None,
    class_name: StoredClassOption = "",
    on: DayOption = None,
    always: AlwaysOption = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Say what units are worth, and how sure that is. With --model and --units no store is needed.

    Example: plainsale price --model phone.json --units phone-units.csv --out prices.csv

    Raises:
        typer.BadParameter: Both one unit and a file of units are named.
    """
    if unit is not None and (units is not None or out is not None):
        raise typer.BadParameter("--unit prices one unit; leave out --units and --out")
    shop = open_shop(store)
    chosen = model_for(shop, model, class_name)
    if unit is None:
        if units is None:
            sheet = price_store(shop, chosen, on=on, always=always)
        else:
            sheet = price_file(chosen, units, on=on, always=always)
        return _tell_sheet(sheet, out, as_json)
    described = read_unit_of(chosen, unit)
    estimate = unit_estimate(chosen, described, on=on, always=always)
    made = explanation(shop, chosen, described, on=on)
    if as_json:
        parts = {"estimate": estimate, "explanation": made}
        print_json({name: part.model_dump(mode="json") for name, part in parts.items()})
    else:
        tell_estimate(estimate)
        tell_explanation(made)
    return WELL


def what_if(
    unit: UnitOption,
    change: Annotated[
        list[str],
        typer.Option("--set", metavar="CHANGE", help="function:NAME=STATUS; attribute:, mark:, part: alike."),
    ],
    model: ModelOption = None,
    class_name: StoredClassOption = "",
    on: DayOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Say what a repair or a fault changes. The interval is of the change, not of the price.

    Example: plainsale what-if --model phone.json --unit unit.json --set function:camera_wide=works
    """
    shop = open_shop(store)
    chosen = model_for(shop, model, class_name)
    found = what_if_changed(chosen, read_unit_of(chosen, unit), change, on=on)
    if as_json:
        amounts = {name: float(getattr(found, name).amount) for name in ("before", "after", "change")}
        ends = {name: float(getattr(found, name).amount) for name in ("low_95", "high_95")}
        print_json({**amounts, "percent": float(found.percent), **ends})
    else:
        tell_what_if(change, found)
    return WELL


def _tell_sheet(sheet: PriceSheet, out: Path | None, as_json: bool) -> int:
    if out is not None:
        write_sheet(sheet, out)
    note(*sheet.notices)
    if sheet.bad:
        complain(f"{sheet.bad} of {len(sheet.rows)} rows could not be read", sheet.problems)
    counts: dict[str, object] = {"priced": sheet.priced, "abstained": sheet.abstained, "bad": sheet.bad}
    rows = [dict(zip(sheet.header, row, strict=True)) for row in sheet.rows] if out is None else []
    if as_json:
        print_json(counts | ({"rows": rows} if out is None else {"out": str(out)}))
        return FOUND_SOMETHING if sheet.bad else WELL
    if rows:
        columns = (sheet.header[0], *_SHORT_COLUMNS)
        shown = [[row[name] for name in columns] for row in rows[:_SHOWN_ROWS]]
        show_table(columns, shown, right=_SHORT_COLUMNS[:3])
        if len(rows) > _SHOWN_ROWS:
            say(f"and {len(rows) - _SHOWN_ROWS} more; --out FILE writes them all")
    told = f"{sheet.priced} priced, {sheet.abstained} without a figure, {counted(sheet.bad, 'bad row')}"
    say(told + ("." if out is None else f"; all of them are in {out}."))
    return FOUND_SOMETHING if sheet.bad else WELL
