"""How kept listings, their checks and buyers' answers read on a screen, and what they are as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from api.cli.output import note, say, show_heading, show_table
from api.shop.acceptances import DeviationLines, KeptAcceptance
from api.shop.cautions import cautions_to_publish
from api.shop.kept_listings import KeptListing
from api.shop.listing_checks import ListingRead, last_check
from pricing.records.finding import Finding
from pricing.records.listing_step import Checked, FindingAnswer, ListingStep, Published, ReadBack, Sold, Withdrawn

_SHORT = 12


def listing_values(kept: KeptListing) -> dict[str, Any]:
    """Return a kept listing as plain values for JSON."""
    check = last_check(kept)
    return {
        "number": kept.number,
        "unit_number": kept.written.unit.number,
        "state": kept.state,
        "stale": kept.stale,
        "changed": [change.model_dump(mode="json") for change in kept.changed],
        "intact": kept.intact,
        "language": kept.written.said.language,
        "format": kept.written.said.format,
        "channel": kept.written.said.channel,
        "title": kept.written.said.title,
        "text": kept.text,
        "text_digest": kept.text_digest,
        "check": None if check is None else check.model_dump(mode="json") | {"passed": check.passed},
        "cautions": cautions_to_publish(kept.unit, kept.device_class),
        "history": [
            {"number": step.number, "did": step.step.did, "state": step.state, "at": step.at, "digest": step.digest}
            for step in kept.steps
        ],
    }


def acceptance_values(kept: KeptAcceptance) -> dict[str, Any]:
    """Return a buyer's answer as plain values for JSON."""
    return {
        "number": kept.number,
        "listing_number": kept.listing_number,
        "at": kept.at,
        "digest": kept.digest,
        "complete": kept.acceptance.complete,
        "acceptance": kept.acceptance.model_dump(mode="json"),
    }


def tell_listings(found: Sequence[KeptListing]) -> None:
    """Print kept listings as a table."""
    if not found:
        say("No such listing is kept; plainsale list --number UNIT --keep writes one.")
        return
    rows = [
        (
            str(kept.number),
            kept.written.unit.number or "",
            kept.state + (", facts have changed" if kept.stale else ""),
            kept.written.said.channel or "",
            f"{kept.written.said.language} {kept.written.said.format}",
            kept.written.said.title,
        )
        for kept in found
    ]
    show_table(("", "unit", "state", "channel", "as", "title"), rows, right=("",))


def tell_listing(kept: KeptListing) -> None:
    """Print where a listing stands, what happened to it, and what changed since."""
    said = kept.written.said
    say(f"Listing {kept.number} of unit {kept.written.unit.number or 'without a number'}: {kept.state}. {said.title}")
    say(f"Text {kept.text_digest}")
    rows = [(step.at, step.step.did, _details(step.step)) for step in kept.steps]
    show_table(("when", "done", ""), [(kept.written.at, "written", f"{said.language} {said.format}"), *rows])
    if kept.changed:
        show_heading("Changed since" + (": this listing is no longer true" if kept.stale else ""))
        for change in kept.changed:
            say(f"{change.key}: {change.before or 'nothing'} -> {change.now or 'nothing'}")
    if not kept.intact:
        note("something of this listing was changed in the file by another program: it proves nothing any more")


def tell_check(kept: KeptListing) -> None:
    """Print what the last check found, and what to do next."""
    check = last_check(kept)
    if check is None:
        say(f"Listing {kept.number} was never checked.")
        return
    for stop in check.stops:
        say(f"stop: {stop}")
    for place, raised in enumerate(check.findings, start=1):
        finding = raised.finding
        kind = "cannot stand" if finding.hard else "answered" if raised.answer else "to be answered"
        said = f' "{raised.said}"' if raised.said else ""
        say(f"{place}. {finding.kind}{said}: {finding.fact or 'no fact'} ({kind})")
        say(f"   because: {raised.answer}" if raised.answer else f"   say instead: {finding.suggestion}")
    cautions = cautions_to_publish(kept.unit, kept.device_class)
    if cautions:
        say("Cautions:", *(f"- {caution}" for caution in cautions))
    if check.passed:
        short = kept.text_digest[:_SHORT]
        say(f"Nothing stands against it. Read it, then: plainsale listings --listing {kept.number} --publish {short}")


def tell_read_back(read: ListingRead) -> None:
    """Print how a text that was read in public compares with what was published."""
    say(f"What stands there is {read.same}." if read.same != "inside a longer text" else "It stands in a longer text.")
    for line in read.lost:
        say(f"lost: {line}")
    for line in read.added:
        say(f"added: {line}")
    tell_findings(read.findings)


def tell_lines(told: DeviationLines) -> None:
    """Print the lines that a buyer accepts one by one, or the message that asks for it."""
    if told.cannot:
        note(told.cannot)
    if told.message:
        say(*told.message.splitlines())
        return
    for line in told.lines:
        say(f"{line.number}. {line.text}" + (f" ({line.rule})" if line.rule else ""))
    if not told.lines:
        say("No deviation is recorded: there is nothing to accept.")


def tell_findings(findings: Sequence[Finding]) -> None:
    """Print what a text leaves out or gets wrong, and what would be right."""
    for finding in findings:
        place = "" if finding.kind == "missing" else f" at {finding.start} to {finding.end}"
        say(f"{finding.kind}{place}: {finding.fact or 'no fact'}")
        say(f"  say instead: {finding.suggestion}")


def _details(step: ListingStep) -> str:
    if isinstance(step, Checked):
        still_open = sum(raised.stands_open for raised in step.findings) + len(step.stops)
        return "nothing stands open" if step.passed else f"{still_open} open"
    if isinstance(step, FindingAnswer):
        return f"{step.kind}: {step.reason} ({step.by})"
    if isinstance(step, Published):
        return f"confirmed by {step.publication.confirmed_by}, version {step.publication.program}"
    if isinstance(step, ReadBack):
        return f"{step.same}, {step.findings} findings"
    if isinstance(step, Sold):
        return f"{step.buyer or 'no reference'} ({step.by})"
    return f"{step.reason} ({step.by})" if isinstance(step, Withdrawn) else ""
