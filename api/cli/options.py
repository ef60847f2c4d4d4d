"""Options that several commands share."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Annotated

import typer

from pricing.errors import BadInput
from pricing.records.money import Money, checked_currency

_MONEY = re.compile(r"(-?\d{1,15}(?:\.\d{1,9})?)\s*([A-Za-z]{3})")


def parse_day(text: str) -> date:
    """Return the day that a word of the command line names.

    Raises:
        typer.BadParameter: It is no day in ISO form.
    """
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise typer.BadParameter(f"{text!r} is no day; expected one like 2026-03-31") from error


def parse_money(text: str) -> Money:
    """Return the money that a word of the command line names: "18.40 USD".

    Raises:
        typer.BadParameter: It is no amount with a currency.
    """
    matched = _MONEY.fullmatch(text.strip())
    if matched is None:
        raise typer.BadParameter(f"{text!r} is no money; expected an amount and a currency like '18.40 USD'")
    try:
        return Money(amount=Decimal(matched.group(1)), currency=checked_currency(matched.group(2)))
    except BadInput as error:
        raise typer.BadParameter(str(error)) from error


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


def money_option(name: str, words: str) -> typer.models.OptionInfo:
    """Return an option that takes money like '18.40 USD'."""
    option: typer.models.OptionInfo = typer.Option(name, parser=parse_money, metavar="MONEY", help=words)
    return option


def day_option(words: str) -> typer.models.OptionInfo:
    """Return the option --on, which takes a day like 2026-03-31."""
    option: typer.models.OptionInfo = typer.Option("--on", parser=parse_day, metavar="DAY", help=words)
    return option


DayOption = Annotated[date | None, day_option("Price for this day (2026-03-31).")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON on the output, and nothing else there.")]
StoreOption = Annotated[
    str | None, typer.Option("--store", metavar="URL", help="Another store than the usual one: sqlite:///FILE.")
]
KeepGoodOption = Annotated[bool, typer.Option("--keep-good", help="Leave bad rows out and go on.")]
SeedOption = Annotated[int, typer.Option("--seed", help="Number that fixes every draw of chance.")]
BaseOption = Annotated[
    str | None, typer.Option("--base", metavar="CUR", help="Turn all prices into this currency.")
]
RatesOption = Annotated[
    Path | None,
    typer.Option("--rates", metavar="FILE", help="Your own rates per --base: date, currency, per_base."),
]
ClassOption = Annotated[
    str, typer.Option("--class", metavar="CLASS", help="Name of a class, or its TOML file.")
]
ModelOption = Annotated[
    Path | None, typer.Option("--model", metavar="FILE", help="The model; without it, the store's latest.")
]
StoredClassOption = Annotated[
    str, typer.Option("--class", metavar="CLASS", help="Class of the store's model, when no file is named.")
]
UnitOption = Annotated[Path, typer.Option("--unit", metavar="FILE", help="The unit as JSON.")]
