"""The command ``list``: writing a listing, and reading a text against a unit."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from api.cli.openings import open_shop
from api.cli.options import DayOption, JsonOption, UnitOption
from api.cli.output import note, print_json, print_text, say
from api.error_replies import FOUND_SOMETHING, WELL
from api.shop.channels import channel_called
from api.shop.files import read_text
from api.shop.listings import LANGUAGE, check_text, write_listing
from api.shop.models import read_model
from api.shop.terms import terms_of_shop
from api.shop.units import read_unit_file
from pricing.records.finding import Finding
from pricing.records.listing import Format


def list_unit(
    unit: UnitOption,
    form: Annotated[Format, typer.Option("--format", help="How the listing is written.")] = "text",
    class_name: Annotated[
        str | None, typer.Option("--class", metavar="CLASS", help="Name of a class, or its TOML file.")
    ] = None,
    model: Annotated[
        Path | None, typer.Option("--model", metavar="FILE", help="Its estimate is the price without an ask.")
    ] = None,
    check: Annotated[
        Path | None, typer.Option("--check", metavar="FILE", help="Read this text against the unit instead.")
    ] = None,
    language: Annotated[
        str, typer.Option("--language", metavar="TAG", help="Language of the listing: en, de, es or fr.")
    ] = LANGUAGE,
    channel: Annotated[
        str | None, typer.Option("--channel", metavar="NAME", help="Where it stands, with its limits; or a TOML file.")
    ] = None,
    on: DayOption = None,
    as_json: JsonOption = False,
) -> int:
    """Write a listing that discloses every defect, or check a text against a unit.

    With --channel the listing keeps the channel's limits: descriptions may be left off, which is told on the error
    output, disclosures never.
    With --check, what the text leaves out or gets wrong is listed, and the exit code is 3 when there is
    anything.

    Example: plainsale list --unit unit.json --format markdown
    """
    shop = open_shop()
    described = read_unit_file(unit)
    chosen = None if model is None else read_model(model)
    if class_name is None and chosen is not None:
        device_class = chosen.device_class
    else:
        device_class = shop.class_named(class_name or described.device_class)
    if check is not None:
        return _tell_findings(check_text(read_text(check), described, device_class), as_json)
    day = on or shop.today
    terms = terms_of_shop(shop.settings)
    place = None if channel is None else channel_called(shop, Path(channel) if channel.endswith(".toml") else channel)
    listing = write_listing(
        described, device_class, form=form, on=day, model=chosen, language=language, terms=terms, channel=place
    )
    if as_json:
        print_json(listing.model_dump(mode="json"))
    else:
        print_text(listing.body)
        note(*(f"Left off for want of room: {sentence.text}" for sentence in listing.left_off))
    return WELL


def _tell_findings(findings: tuple[Finding, ...], as_json: bool) -> int:
    if as_json:
        print_json([finding.model_dump(mode="json", exclude={"hard"}) for finding in findings])
    elif not findings:
        say("Nothing to object: every recorded defect is said, and nothing that the record does not hold.")
    else:
        tell_findings(findings)
    return FOUND_SOMETHING if findings else WELL


def tell_findings(findings: tuple[Finding, ...]) -> None:
    """Print what a text leaves out or gets wrong, and what would be right."""
    for finding in findings:
        place = "" if finding.kind == "missing" else f" at {finding.start} to {finding.end}"
        say(f"{finding.kind}{place}: {finding.fact or 'no fact'}")
        say(f"  say instead: {finding.suggestion}")
