"""The command ``import``: sales and units into the store."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from api.cli.openings import open_shop
from api.cli.options import BaseOption, ClassOption, JsonOption, KeepGoodOption, RatesOption, StoreOption
from api.cli.output import complain, note, print_json, say, working
from api.error_replies import WELL
from api.shop.comparables import SalesImport, import_sales
from api.shop.units import UnitsImport, import_units
from pricing.errors import counted


def import_files(
    class_name: ClassOption,
    sales: Annotated[Path | None, typer.Option("--sales", metavar="FILE", help="Sales as CSV.")] = None,
    units: Annotated[
        Path | None, typer.Option("--units", metavar="FILE", help="Units as CSV, or one as JSON.")
    ] = None,
    base: BaseOption = None,
    rates: RatesOption = None,
    keep_good: KeepGoodOption = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Put sales or units into the store. Nothing is stored when a row is bad, unless --keep-good.

    Example: plainsale import --class phone --sales phone-sales.csv

    Raises:
        typer.BadParameter: Neither sales nor units are named.
    """
    if sales is None and units is None:
        raise typer.BadParameter("name a file with --sales, --units or both")
    shop = open_shop(store)
    device_class = shop.class_named(class_name)
    told: dict[str, object] = {}
    if sales is not None:
        with working("Reading the sales"):
            sold = import_sales(shop, sales, device_class, base=base, rates=rates, keep_good=keep_good)
        told |= _told_of_sales(sold, as_json)
    if units is not None:
        with working("Reading the units"):
            kept = import_units(shop, units, device_class, keep_good=keep_good)
        told |= _told_of_units(kept, as_json)
    if as_json:
        print_json(told)
    return WELL


def _told_of_sales(sold: SalesImport, as_json: bool) -> dict[str, object]:
    batch, left_out = sold.batch, sold.rows_read - sold.batch.rows
    note(*sold.notices)
    if sold.problems:
        complain(f"{counted(left_out, 'bad row')} left out", sold.problems)
    if not as_json and batch.new:
        money = f", prices in {batch.currency}" if batch.currency else ""
        say(f"{batch.rows} sales of the class {batch.device_class} stored{money}.")
    elif not as_json:
        say(f"These {batch.rows} sales are in the store since {batch.at}; nothing was added.")
    return {"sales": batch.rows, "new": batch.new, "currency": batch.currency, "left_out": left_out}


def _told_of_units(kept: UnitsImport, as_json: bool) -> dict[str, object]:
    numbers = [str(stored.unit.number) for stored in kept.units]
    note(*kept.notices)
    if kept.problems:
        complain("bad rows left out", kept.problems)
    if not as_json:
        say(f"{counted(len(numbers), 'unit')} stored: {', '.join(numbers[:12])}{', ...' if len(numbers) > 12 else ''}.")
    return {"units": numbers}
