"""Numbers on the command line."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

import typer


def parse_number(text: str | Decimal) -> Decimal:
    """Return a number of the command line, exact; a default passes through here too.

    Raises:
        typer.BadParameter: It is none, or has no end.
    """
    try:
        number = Decimal(str(text).strip())
    except InvalidOperation as error:
        raise typer.BadParameter(f"{str(text)!r} is no number; expected one like 12.50") from error
    if not number.is_finite():
        raise typer.BadParameter(f"{str(text)!r} has no end; expected a number like 12.50")
    return number


def number_option(name: str, words: str, metavar: str = "N") -> typer.models.OptionInfo:
    """Return an option that takes an exact number."""
    option: typer.models.OptionInfo = typer.Option(name, parser=parse_number, metavar=metavar, help=words)
    return option
