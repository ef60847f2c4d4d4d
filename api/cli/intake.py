"""The command ``intake``: what is to be looked at on a unit, and the answers."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from api.cli.openings import open_shop
from api.cli.options import JsonOption, KeepGoodOption, StoreOption, day_option
from api.cli.output import complain, note, print_json
from api.cli.telling_intake import sheet_values, tell_sheet
from api.error_replies import FOUND_SOMETHING, WELL
from api.shop.intake import IntakeSheet, answer_stored, answered, read_answers_file, sheet_for, sheet_of, write_unit
from api.shop.shop import Shop
from api.shop.units import read_unit_file
from pricing.errors import Problem, counted
from pricing.records.unit import Unit


def intake(
    unit: Annotated[Path | None, typer.Option("--unit", metavar="FILE", help="The unit as JSON.")] = None,
    number: Annotated[str | None, typer.Option("--number", metavar="UNIT", help="Number of a stored unit.")] = None,
    class_name: Annotated[
        str | None, typer.Option("--class", metavar="CLASS", help="A unit of which nothing is recorded yet.")
    ] = None,
    answers: Annotated[
        Path | None, typer.Option("--answers", metavar="FILE", help="Answers as CSV (key, answer, ...) or JSON.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="Write the unit with the answers here, as JSON.")
    ] = None,
    on: Annotated[date | None, day_option("Day of answers that state none (today).")] = None,
    every: Annotated[bool, typer.Option("--all", help="Show what was answered too.")] = False,
    keep_good: KeepGoodOption = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Ask what is to be looked at on a unit, in the order of the bench, and take the answers.

    What nobody answered counts as untested. Cautions stand before the stage that they are for. A row of the answers
    has the key of a question, the answer, and what belongs to it: symptom, day, way, size_mm and so on.

    Example: plainsale intake --class phone
    """
    _check_options(unit, number, class_name, answers, out)
    shop = open_shop(store)
    problems: tuple[Problem, ...] = ()
    if number is not None:
        if answers is not None:
            given = read_answers_file(answers)
            kept = answer_stored(shop, number, given, source=answers.name, on=on, keep_good=keep_good)
            problems = kept.problems
            note(f"unit {number} is now at version {kept.stored.version}")
        sheet = sheet_of(shop, number)
    else:
        sheet, problems = _of_file(shop, _start(unit, class_name), answers, out, on, keep_good)
    if problems:
        complain(f"{counted(len(problems), 'bad answer')} left out", problems)
    if as_json:
        print_json(sheet_values(sheet))
    else:
        tell_sheet(sheet, every=every)
    return FOUND_SOMETHING if problems else WELL


def _of_file(
    shop: Shop, unit: Unit, answers: Path | None, out: Path | None, on: date | None, keep_good: bool
) -> tuple[IntakeSheet, tuple[Problem, ...]]:
    device_class = shop.class_named(unit.device_class)
    day = on or shop.today
    if answers is None:
        return sheet_for(unit, device_class, on=day), ()
    given = read_answers_file(answers)
    taken = answered(unit, device_class, given, on=day, source=answers.name, keep_good=keep_good)
    if out is not None:
        write_unit(out, taken.unit)
    return sheet_for(taken.unit, device_class, on=day), taken.problems


def _start(unit: Path | None, class_name: str | None) -> Unit:
    return read_unit_file(unit) if unit is not None else Unit.model_validate({"class": class_name})


def _check_options(
    unit: Path | None, number: str | None, class_name: str | None, answers: Path | None, out: Path | None
) -> None:
    """Let pass one unit, and a place for answers to go to.

    Raises:
        typer.BadParameter: Something is missing or too much.
    """
    if sum(given is not None for given in (unit, number, class_name)) != 1:
        raise typer.BadParameter("name one unit: --unit FILE, a stored one with --number, or a new one with --class")
    if number is not None and out is not None:
        raise typer.BadParameter("--number keeps the answers in the store: leave --out away")
    if number is None and (answers is None) != (out is None):
        raise typer.BadParameter("--answers FILE and --out FILE belong together where the unit is not in the store")
