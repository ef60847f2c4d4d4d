"""The sheet for a sale in person: every deviation a line that the buyer marks on its own, to be printed on A4.

It is a page of HTML that prints: no line is ticked beforehand, no name is asked for, and each line says which rule it
serves. Whether that is enough in a country, an adviser decides.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields

from listing_templates.deviations import law_said, lines_of
from listing_templates.render import SHEET, environment
from listing_templates.sheet_rules import UNION, SheetRules, rules_of
from listing_templates.wording import Wording
from pricing.records.listing import Listing


@dataclass(frozen=True)
class LineContext:
    """One deviation as the template sees it."""

    number: str = field(metadata={"help": "Its place on the sheet, from 1, in the language's numerals."})
    text: str = field(metadata={"help": "The disclosure, word for word as in the listing, not yet escaped."})
    rule: str = field(metadata={"help": "The rule that it serves ('Art. 7(1)(d)')."})
    box: str = field(metadata={"help": "What the box is called for who cannot see it ('Accept line 3')."})


@dataclass(frozen=True)
class SheetContext:
    """The sheet as the template sees it."""

    language: str = field(metadata={"help": "Language tag for the page ('en')."})
    heading: str = field(metadata={"help": "What the sheet is."})
    title: str = field(metadata={"help": "Title of the unit's listing."})
    details: tuple[str, ...] = field(metadata={"help": "Number, price, day and digest, as far as there are any."})
    how: str = field(metadata={"help": "What the buyer is asked to do."})
    law: str = field(metadata={"help": "The law whose rules the lines name, and where it asks for this."})
    columns: tuple[str, str, str, str] = field(metadata={"help": "Heads of the columns."})
    lines: tuple[LineContext, ...] = field(metadata={"help": "The deviations, hidden ones first as in the listing."})
    nothing: str = field(metadata={"help": "Said instead of the lines when there are none."})
    total: str = field(metadata={"help": "How many lines there are, so that none can be left out unseen."})
    date: str = field(metadata={"help": "Name of the place for the date."})
    mark: str = field(metadata={"help": "Name of the place for the buyer's own mark."})
    rights: str = field(metadata={"help": "That other rights stay, and that no name is kept."})


def render_sheet(listing: Listing, *, country: str = UNION, digest: str | None = None) -> str:
    """Return the sheet of a listing in the listing's language as a page of HTML.

    ``country`` chooses whose rules are named; ``digest`` is that of the text that the lines are from.

    Raises:
        NotFound: There are no rules for that country, or no such language.
    """
    context = _context(listing, rules_of(country), Wording(listing.language), digest)
    template = environment("html").get_template(SHEET)
    return template.render({field.name: getattr(context, field.name) for field in fields(context)})


def _context(listing: Listing, rules: SheetRules, wording: Wording, digest: str | None) -> SheetContext:
    lines = _lines(listing, rules, wording)
    return SheetContext(
        language=wording.language.tag,
        heading=wording.phrase("sheet_heading"),
        title=listing.title,
        details=_details(listing, wording, digest),
        how=wording.phrase("sheet_how"),
        law=law_said(rules, wording),
        columns=(
            wording.phrase("sheet_line"),
            wording.phrase("sheet_deviation"),
            wording.phrase("sheet_rule"),
            wording.phrase("sheet_accepted"),
        ),
        lines=lines,
        nothing="" if lines else wording.phrase("sheet_nothing"),
        total=wording.phrase("sheet_total", count=len(lines)),
        date=wording.phrase("sheet_date"),
        mark=wording.phrase("sheet_mark"),
        rights=wording.phrase("sheet_rights"),
    )


def _lines(listing: Listing, rules: SheetRules, wording: Wording) -> tuple[LineContext, ...]:
    return tuple(
        LineContext(
            number=str(line.number),
            text=line.text,
            rule=line.rule,
            box=wording.phrase("sheet_box", number=str(line.number)),
        )
        for line in lines_of(listing.sentences, rules)
    )


def _details(listing: Listing, wording: Wording, digest: str | None) -> tuple[str, ...]:
    details = []
    if listing.unit_number:
        details.append(wording.phrase("sheet_number", number=listing.unit_number))
    if listing.price is not None:
        details.append(wording.sentence("price.asked", price=wording.money(listing.price)))
    if listing.on is not None:
        details.append(wording.phrase("written", day=wording.day(listing.on)))
    if digest is not None:
        details.append(wording.phrase("sheet_digest", digest=digest))
    return tuple(details)
