"""The command ``list``: writing a listing, and reading a text against a unit."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from api.cli.openings import open_shop
from api.cli.options import DayOption, JsonOption, StoreOption
from api.cli.output import note, print_json, print_text, say
from api.cli.telling_listings import tell_findings
from api.error_replies import FOUND_SOMETHING, WELL
from api.shop.channels import channel_called
from api.shop.files import read_text
from api.shop.listings import LANGUAGE, check_text, keep_listing, reasons_of, write_listing
from api.shop.models import read_model
from api.shop.photos import illustrations_of
from api.shop.shop import Shop
from api.shop.terms import terms_of_shop
from api.shop.units import get_unit, read_unit_file
from pricing.records.device_class import DeviceClass
from pricing.records.finding import Finding
from pricing.records.listing import Format, Listing
from pricing.records.unit import Unit

ChannelOption = Annotated[
    str | None, typer.Option("--channel", metavar="NAME", help="Where it stands, with its limits; or a TOML file.")
]


def list_unit(
    unit: Annotated[Path | None, typer.Option("--unit", metavar="FILE", help="The unit as JSON.")] = None,
    number: Annotated[
        str | None, typer.Option("--number", metavar="UNIT", help="Number of the stored unit instead.")
    ] = None,
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
    answer: Annotated[bool, typer.Option("--answer", help="The text of --check is an answer to a buyer.")] = False,
    why: Annotated[
        str | None, typer.Option("--why", metavar="SENTENCE", help="Say why it says this sentence (function.dead).")
    ] = None,
    keep: Annotated[bool, typer.Option("--keep", help="Keep it in the store as a draft, to be published.")] = False,
    language: Annotated[
        str, typer.Option("--language", metavar="TAG", help="Language of the listing: en, de, es or fr.")
    ] = LANGUAGE,
    channel: ChannelOption = None,
    on: DayOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Write a listing that discloses every defect, or check a text against a unit.

    With --channel the listing keeps the channel's limits: descriptions may be left off, which is told on the error
    output, disclosures never.
    With --check, what the text leaves out or gets wrong is listed, and the exit code is 3 when there is
    anything. With --keep the listing stays in the store: the command listings then checks and publishes it.

    Example: plainsale list --unit unit.json --format markdown
    """
    _check_options(answer and check is None, keep, channel)
    shop = open_shop(store)
    described = _described(shop, unit, number)
    chosen = None if model is None else read_model(model)
    device_class = _class_of(shop, described, class_name, None if chosen is None else chosen.device_class)
    day = on or shop.today
    if check is not None:
        found = check_text(read_text(check), described, device_class, on=day, language=language, answer=answer)
        return _tell_findings(found, as_json)
    listing = write_listing(
        described,
        device_class,
        form=form,
        on=day,
        model=chosen,
        language=language,
        terms=terms_of_shop(shop.settings),
        channel=None if channel is None else channel_called(shop, _named(channel)),
        illustrations=() if number is None else illustrations_of(shop, number),
    )
    if why is not None:
        return _tell_reasons(shop, listing, described, device_class, why, as_json)
    return _tell_listing(listing, keep_listing(shop, described, listing).number if keep else None, as_json)


def _check_options(unread_answer: bool, keep: bool, channel: str | None) -> None:
    """Let pass options that mean something together.

    Raises:
        typer.BadParameter: An answer has no text, or a listing is to be kept for a channel that is only a file.
    """
    if unread_answer:
        raise typer.BadParameter("--answer says what the text of --check is: name that too")
    if keep and channel is not None and channel.endswith(".toml"):
        raise typer.BadParameter("--keep wants the name of a channel: put its file into the folder of your own")


def _described(shop: Shop, unit: Path | None, number: str | None) -> Unit:
    """Return the unit of a file, or the stored one.

    Raises:
        typer.BadParameter: Neither or both are named.
    """
    if unit is not None and number is None:
        return read_unit_file(unit)
    if unit is None and number is not None:
        return get_unit(shop, number).unit
    raise typer.BadParameter("name the unit with --unit FILE, or a stored one with --number: one of the two")


def _class_of(shop: Shop, unit: Unit, class_name: str | None, learnt: DeviceClass | None) -> DeviceClass:
    """Return the class that is named, else that of the model, else the unit's own."""
    if class_name is None and learnt is not None:
        return learnt
    return shop.class_named(class_name or unit.device_class)


def _named(channel: str) -> str | Path:
    return Path(channel) if channel.endswith(".toml") else channel


def _tell_listing(listing: Listing, kept: int | None, as_json: bool) -> int:
    if as_json:
        number = {} if kept is None else {"number": kept}
        print_json({**number, **listing.model_dump(mode="json")})
    else:
        print_text(listing.body)
        note(*(f"Left off for want of room: {sentence.text}" for sentence in listing.left_off))
    if kept is not None:
        note(f"kept as listing {kept}, a draft: plainsale listings --listing {kept} --check")
    return WELL


def _tell_reasons(
    shop: Shop, listing: Listing, unit: Unit, device_class: DeviceClass, sentence: str, as_json: bool
) -> int:
    found = reasons_of(listing, unit, device_class, terms_of_shop(shop.settings), sentence)
    if as_json:
        print_json([reason.model_dump(mode="json") for reason in found])
    else:
        for reason in found:
            say(reason.sentence, *(f"  {line}" for line in reason.because))
    return WELL


def _tell_findings(findings: tuple[Finding, ...], as_json: bool) -> int:
    if as_json:
        print_json([finding.model_dump(mode="json", exclude={"hard"}) for finding in findings])
    elif not findings:
        say("Nothing to object: every recorded defect is said, and nothing that the record does not hold.")
    else:
        tell_findings(findings)
    return FOUND_SOMETHING if findings else WELL
