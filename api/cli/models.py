"""The command ``fit``: learning prices from sales."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import Annotated, TypedDict

import numpy as np
import typer

from api.cli.openings import open_shop
from api.cli.options import (
    BaseOption,
    ClassOption,
    DayOption,
    JsonOption,
    KeepGoodOption,
    RatesOption,
    SeedOption,
    StoreOption,
)
from api.cli.output import complain, note, print_json, say, working
from api.error_replies import WELL
from api.shop.cluster_fits import fit_on_workers
from api.shop.model_cards import FORMATS, cards_beside, write_cards
from api.shop.models import Fit, fit_file, fit_store, keep_model, write_model


class Engine(StrEnum):
    """Where a fit does its work."""

    LOCAL = "local"
    DASK = "dask"


class _Given(TypedDict):
    """What is said of files of sales and the fit to them, wherever it is done."""

    base: str | None
    rates: Path | None
    on: date | None
    seed: int
    keep_good: bool


def fit(
    class_name: ClassOption,
    sales: Annotated[
        Path | None,
        typer.Option("--sales", metavar="FILE", help="Sales as CSV or Parquet, or 'part-*.csv'; else the store's."),
    ] = None,
    model: Annotated[
        Path | None, typer.Option("--model", metavar="FILE", help="Write it here; without it, to the store.")
    ] = None,
    base: BaseOption = None,
    rates: RatesOption = None,
    on: DayOption = None,
    seed: SeedOption = 0,
    keep_good: KeepGoodOption = False,
    engine: Annotated[
        Engine, typer.Option("--engine", help="Work in this process, or on Dask workers that read a file each.")
    ] = Engine.LOCAL,
    scheduler: Annotated[
        str | None,
        typer.Option("--scheduler", metavar="ADDRESS", help="A running Dask scheduler; else processes of our own."),
    ] = None,
    card: Annotated[
        Path | None,
        typer.Option("--card", metavar="FILE", help="Write the model card here: .html or .md; else beside --model."),
    ] = None,
    no_card: Annotated[bool, typer.Option("--no-card", help="Write no model card.")] = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Learn prices from sales. With --sales and --model no store is needed.

    Only the column price is required. Any bad row: no model, unless --keep-good. Beside a model phone.json
    goes its card for people, phone.card.html and phone.card.md. Sales in several files that a pattern names
    are one set; with --engine dask they need not fit into the memory of one machine.

    Example: plainsale fit --class phone --sales phone-sales.csv --model phone.json

    Raises:
        typer.BadParameter: There are rates or workers and no sales, or a scheduler and no workers.
    """
    cards = _cards(model, card, no_card)
    _check_sales(sales, rates, engine, scheduler)
    shop = open_shop(store)
    device_class = shop.class_named(class_name)
    given = _Given(base=base, rates=rates, on=on, seed=seed, keep_good=keep_good)
    with working("Fitting"):
        if sales is None:
            made = fit_store(shop, device_class.name, on=on, seed=seed)
        elif engine is Engine.DASK:
            made = fit_on_workers(shop, sales, device_class, scheduler=scheduler, **given)
        else:
            made = fit_file(shop, sales, device_class, **given)
        if sales is not None and model is None:
            keep_model(shop, made.model)
    if model is not None:
        write_model(made.model, model)
    if cards:
        with working("Writing the model card"):
            write_cards(made, cards)
    _tell(made, "the store" if model is None else str(model), cards, as_json)
    return WELL


def _check_sales(sales: Path | None, rates: Path | None, engine: Engine, scheduler: str | None) -> None:
    """Check that options which are about files of sales come with some.

    Raises:
        typer.BadParameter: They do not.
    """
    if rates is not None and sales is None:
        raise typer.BadParameter("--rates turns the prices of --sales into --base; name the sales")
    if engine is Engine.DASK and sales is None:
        raise typer.BadParameter("--engine dask reads files of sales; name them with --sales")
    if scheduler is not None and engine is not Engine.DASK:
        raise typer.BadParameter("--scheduler is of --engine dask")


def _cards(model: Path | None, card: Path | None, no_card: bool) -> tuple[Path, ...]:
    """Return where the card goes: to the file that was named, else beside the model's, else nowhere.

    Raises:
        typer.BadParameter: A card is both wanted and not, or its file ends otherwise.
    """
    if card is not None and no_card:
        raise typer.BadParameter("--card and --no-card say the opposite of each other")
    if card is not None and card.suffix.lower() not in FORMATS:
        raise typer.BadParameter(f"--card {card}: expected a file that ends in {' or '.join(FORMATS)}")
    if card is not None:
        return (card,)
    return () if no_card or model is None else cards_beside(model)


def _tell(made: Fit, where: str, cards: Sequence[Path], as_json: bool) -> None:
    learnt = summary_of(made) | {"cards": [str(path) for path in cards]}
    if made.problems:
        complain("bad rows left out", made.problems)
    if as_json:
        print_json(learnt)
        return
    say(*words_of(made), f"The model is in {where}.")
    if cards:
        say(f"Its card, to be read before it is used: {' and '.join(str(path) for path in cards)}.")
    for notice in (*made.notices, *made.model.notices):
        note(notice)


def summary_of(made: Fit) -> dict[str, object]:
    """Return what was learnt as plain values, for JSON."""
    first, last = _span(made)
    return {
        "class": made.model.device_class.name,
        "rows": made.model.rows,
        "first_sale": first,
        "last_sale": last,
        "currency": made.model.currency,
        "on": None if made.model.on is None else made.model.on.isoformat(),
        "of_asking_price": made.model.of_asking_price,
        "fingerprint": made.model.fingerprint,
        "left_out": len(made.problems),
        "notices": [*made.notices, *made.model.notices],
    }


def words_of(made: Fit) -> list[str]:
    """Return what was learnt in plain words, a line for each thing."""
    first, last = _span(made)
    title = made.model.device_class.title
    lines = [f"Learnt prices of the class {title} from {made.model.rows} sales."]
    if first is None:
        lines.append("The sales are not dated, so the model knows no change of prices with time.")
    else:
        lines.append(f"They were sold from {first} to {last}; prices are for {made.model.on}.")
    lines.append(f"All amounts are in {made.model.currency or 'the currency of the file, which names none'}.")
    if made.model.of_asking_price:
        lines.append("All of them were only asked, never paid: what comes out is an asking price.")
    return lines


def _span(made: Fit) -> tuple[str | None, str | None]:
    if made.days is not None:
        first, last = made.days
        return first.isoformat(), last.isoformat()
    days = made.sales.condition.sold_on
    dated = None if days is None else days[~np.isnat(days)]
    if dated is None or not len(dated):
        return None, None
    return str(dated.min()), str(dated.max())
