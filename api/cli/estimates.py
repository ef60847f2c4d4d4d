"""The commands ``price`` and ``what-if``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from api.cli.openings import open_shop
from api.cli.options import DayOption, JsonOption, ModelOption, StoredClassOption, StoreOption, UnitOption
from api.cli.output import complain, note, print_json, progress_bar, say, show_table
from api.cli.telling import tell_estimate, tell_explanation, tell_what_if
from api.error_replies import FOUND_SOMETHING, WELL
from api.shop.estimates import explanation, read_unit_of, unit_estimate, what_if_changed
from api.shop.models import model_for
from api.shop.priced_files import PriceCounts, PriceSheet, price_file, price_into, price_store, write_sheet
from pricing.errors import counted

_SHORT_COLUMNS = ("estimate", "low_80", "high_80", "support", "abstained")
_SHOWN_ROWS = 50

AlwaysOption = Annotated[bool, typer.Option("--always", help="Give a figure even where the model declines.")]


def price(
    model: ModelOption = None,
    units: Annotated[
        Path | None, typer.Option("--units", metavar="FILE", help="Units as CSV or Parquet; without it, the store's.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="Write the price sheet here, .csv or .parquet.")
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

    With --units and --out a file of any length is read, priced and written piece by piece.

    Example: plainsale price --model phone.json --units phone-units.csv --out prices.csv

    Raises:
        typer.BadParameter: Both one unit and a file of units are named.
    """
    if unit is not None and (units is not None or out is not None):
        raise typer.BadParameter("--unit prices one unit; leave out --units and --out")
    shop = open_shop(store)
    chosen = model_for(shop, model, class_name)
    if unit is None:
        if units is not None and out is not None:
            with progress_bar("Pricing") as tell:
                counts = price_into(chosen, units, out, on=on, always=always, tell=tell)
            return _tell_written(counts, out, as_json)
        if units is not None:
            return _tell_sheet(price_file(chosen, units, on=on, always=always), as_json)
        sheet = price_store(shop, chosen, on=on, always=always)
        if out is None:
            return _tell_sheet(sheet, as_json)
        write_sheet(sheet, out)
        return _tell_written(sheet.counts, out, as_json)
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


def _tell_written(counts: PriceCounts, out: Path, as_json: bool) -> int:
    code = _tell_notes(counts)
    if as_json:
        print_json(_counted(counts) | {"out": str(out)})
    else:
        say(f"{_words_of(counts)}; all of them are in {out}.")
    return code


def _tell_sheet(sheet: PriceSheet, as_json: bool) -> int:
    counts = sheet.counts
    code = _tell_notes(counts)
    rows = [dict(zip(counts.header, row, strict=True)) for row in sheet.rows]
    if as_json:
        print_json(_counted(counts) | {"rows": rows})
        return code
    if rows:
        columns = (counts.header[0], *_SHORT_COLUMNS)
        shown = [[row[name] for name in columns] for row in rows[:_SHOWN_ROWS]]
        show_table(columns, shown, right=_SHORT_COLUMNS[:3])
        if len(rows) > _SHOWN_ROWS:
            say(f"and {len(rows) - _SHOWN_ROWS} more; --out FILE writes them all")
    say(f"{_words_of(counts)}.")
    return code


def _tell_notes(counts: PriceCounts) -> int:
    """Print what else the reader should know; return the exit code."""
    note(*counts.notices)
    if not counts.bad:
        return WELL
    told = f"{counts.bad} of {counts.row_count} rows could not be read"
    complain(told, counts.problems, unlisted=counts.problem_count - len(counts.problems))
    return FOUND_SOMETHING


def _counted(counts: PriceCounts) -> dict[str, object]:
    return {"priced": counts.priced, "abstained": counts.abstained, "bad": counts.bad}


def _words_of(counts: PriceCounts) -> str:
    return f"{counts.priced} priced, {counts.abstained} without a figure, {counted(counts.bad, 'bad row')}"
