"""The command ``listings``: what becomes of the listings that are kept."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated

import typer

from api.cli.openings import open_shop
from api.cli.options import JsonOption, StoreOption
from api.cli.output import note, print_json, print_text, say
from api.cli.telling_listings import (
    acceptance_values,
    listing_values,
    tell_check,
    tell_lines,
    tell_listing,
    tell_listings,
    tell_read_back,
)
from api.error_replies import FOUND_SOMETHING, WELL
from api.shop.acceptances import accept, deviation_lines
from api.shop.files import read_text
from api.shop.kept_listings import KeptListing, edit_text, get_kept, list_kept, sell, withdraw
from api.shop.listing_checks import answer_finding, check_listing, last_check, read_back
from api.shop.publications import FeedForm, feed_of, publish, sheet_of
from api.shop.shop import Shop
from pricing.records.acceptance import DeviationWay
from pricing.records.listing_step import ListingState

Number = Annotated[int | None, typer.Option("--listing", metavar="NUMBER", help="Number of the kept listing.")]
State = Annotated[ListingState | None, typer.Option("--state", help="Show only these.")]
UnitNumber = Annotated[str | None, typer.Option("--number", metavar="UNIT", help="Show only those of this unit.")]
Edit = Annotated[Path | None, typer.Option("--edit", metavar="FILE", help="Put this text in place of ours.")]
Check = Annotated[bool, typer.Option("--check", help="Read its text against the unit as it is now.")]
Answer = Annotated[int | None, typer.Option("--answer", metavar="N", help="Give --reason for finding N of the check.")]
Publish = Annotated[
    str | None, typer.Option("--publish", metavar="DIGEST", help="Confirm the text with this digest, and publish it.")
]
ReadBackOption = Annotated[
    Path | None, typer.Option("--read-back", metavar="FILE", help="Compare the text in public with what was published.")
]
Lines = Annotated[bool, typer.Option("--lines", help="Show what a buyer accepts line by line, or the message for it.")]
Accepted = Annotated[
    str | None, typer.Option("--accepted", metavar="BUYER", help="Keep that this order number accepts the lines.")
]
By = Annotated[str, typer.Option("--by", metavar="WHO", help="Who says so.")]
Reason = Annotated[str, typer.Option("--reason", help="Why.")]
_TASKS = ("edit", "check", "answer", "publish", "read-back", "lines", "accepted", "sold", "withdraw", "sheet")


def listings(
    listing: Number = None,
    state: State = None,
    number: UnitNumber = None,
    edit: Edit = None,
    check: Check = False,
    answer: Answer = None,
    publish_digest: Publish = None,
    read: ReadBackOption = None,
    lines: Lines = False,
    accepted: Accepted = None,
    line: Annotated[
        list[int], typer.Option("--line", metavar="N", help="Only these lines of them; without it every line.")
    ] = [],  # noqa: B006 - typer wants a list
    way: Annotated[DeviationWay, typer.Option("--way", help="How the buyer's answer came.")] = "message",
    sold: Annotated[bool, typer.Option("--sold", help="The unit was sold from it.")] = False,
    buyer: Annotated[str | None, typer.Option("--buyer", help="Number of the order; no name.")] = None,
    withdrawn: Annotated[bool, typer.Option("--withdraw", help="Give it up, or take it down, with --reason.")] = False,
    sheet: Annotated[bool, typer.Option("--sheet", help="Print the sheet for a sale in person, as HTML.")] = False,
    feed: Annotated[FeedForm | None, typer.Option("--feed", help="Print all that are published as one file.")] = None,
    by: By = "",
    reason: Reason = "",
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Show kept listings; check, publish and follow one of them.

    A listing is a draft until --check finds nothing open. --publish then wants the digest that the check shows: so that
    what you confirm is what you have read. A fact that changes afterwards shows here.

    Example: plainsale listings --state published
    """
    values = (edit, check, answer, publish_digest, read, lines, accepted, sold, withdrawn, sheet)
    tasks = dict(zip(_TASKS, values, strict=True))
    asked = [name for name, value in tasks.items() if value is not None and value is not False]
    _check_alone(asked, listing, feed)
    shop = open_shop(store)
    if feed is not None:
        print_text(feed_of(shop, feed))
        return WELL
    if listing is None:
        return _show_all(shop, state, number, as_json)
    if asked in (["accepted"], ["lines"]):
        return _lines(shop, listing, accepted, line, way, as_json)
    if asked == ["sheet"]:
        print_text(sheet_of(shop, listing))
        return WELL
    if asked == ["read-back"] and read is not None:
        return _read_back(shop, listing, read, as_json)
    return _step(shop, listing, tasks, {"by": by, "reason": reason, "buyer": buyer}, as_json)


def _step(
    shop: Shop, number: int, tasks: Mapping[str, object], said: Mapping[str, str | None], as_json: bool
) -> int:
    """Do the one step that is asked for, and show where the listing then stands."""
    by, reason = said["by"] or "", said["reason"] or ""
    if isinstance(edited := tasks["edit"], Path):
        return _show(edit_text(shop, number, read_text(edited)), as_json)
    if tasks["check"]:
        return _show_check(check_listing(shop, number), as_json)
    if isinstance(place := tasks["answer"], int):
        return _show_check(answer_finding(shop, number, place, reason=reason, by=by), as_json)
    if isinstance(digest := tasks["publish"], str):
        return _show(publish(shop, number, confirmed_by=by, text_digest=digest).kept, as_json)
    if tasks["sold"]:
        told = sell(shop, number, by=by, buyer=said["buyer"])
        note(*told.notices)
        return _show(told.kept, as_json)
    if tasks["withdraw"]:
        return _show(withdraw(shop, number, reason=reason, by=by), as_json)
    return _show(get_kept(shop, number), as_json)


def _show_all(shop: Shop, state: ListingState | None, unit_number: str | None, as_json: bool) -> int:
    found = list_kept(shop, state=state, unit_number=unit_number, limit=0, offset=0).items
    if as_json:
        print_json([listing_values(kept) for kept in found])
    else:
        tell_listings(found)
    return WELL


def _show(kept: KeptListing, as_json: bool) -> int:
    if as_json:
        print_json(listing_values(kept))
    else:
        tell_listing(kept)
    return WELL


def _show_check(kept: KeptListing, as_json: bool) -> int:
    if as_json:
        print_json(listing_values(kept))
    else:
        tell_check(kept)
    found = last_check(kept)
    return WELL if found is not None and found.passed else FOUND_SOMETHING


def _read_back(shop: Shop, number: int, path: Path, as_json: bool) -> int:
    told = read_back(shop, number, read_text(path))
    if as_json:
        findings = [finding.model_dump(mode="json") for finding in told.findings]
        print_json({"number": number, "same": told.same, "findings": findings, "lost": told.lost, "added": told.added})
    else:
        tell_read_back(told)
    return FOUND_SOMETHING if told.findings or told.same == "changed" else WELL


def _lines(
    shop: Shop, number: int, buyer: str | None, only: list[int], way: DeviationWay, as_json: bool
) -> int:
    told = deviation_lines(shop, number)
    if buyer is None:
        if as_json:
            plain = {"number": number, "text_digest": told.text_digest, "way": told.way, "cannot": told.cannot}
            lines = [line.model_dump(mode="json") for line in told.lines]
            print_json({**plain, "lines": lines, "message": told.message})
        else:
            tell_lines(told)
        return WELL
    chosen = only or [line.number for line in told.lines]
    kept = accept(shop, number, buyer=buyer, text_digest=told.text_digest, lines=chosen, way=way)
    if as_json:
        print_json(acceptance_values(kept))
    else:
        count = sum(line.accepted for line in kept.acceptance.lines)
        counts = "they all count as accepted" if kept.acceptance.complete else "nothing counts before all are accepted"
        say(f"{buyer} accepts {count} of {len(kept.acceptance.lines)} lines of listing {number}: {counts}.")
    return WELL if kept.acceptance.complete else FOUND_SOMETHING


def _check_alone(asked: list[str], listing: int | None, feed: str | None) -> None:
    """Let pass one task at a time, each with its listing.

    Raises:
        typer.BadParameter: Several are asked for, or none is named.
    """
    named = [f"--{name}" for name in asked] + (["--feed"] if feed is not None else [])
    if len(named) > 1:
        raise typer.BadParameter(f"one at a time, not {' and '.join(named)}")
    if asked and listing is None:
        raise typer.BadParameter(f"{named[0]} needs the number of a kept listing: --listing")
    if feed is not None and listing is not None:
        raise typer.BadParameter("--feed holds all published listings, not one: leave --listing out")
