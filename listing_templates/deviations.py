"""Deviations: what differs from what a buyer may expect, one line each, to be accepted one by one before the contract.

The lines are the disclosures of our own listing, whatever the published text says. They go to the buyer as a page with
one box for each line, none ticked beforehand, or as a message where a channel has no place for boxes. Whether that is
enough in a country, an adviser decides.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, fields

from listing_templates.render import DEVIATIONS, environment
from listing_templates.sheet_rules import SheetRules, known_rules, law_in
from listing_templates.wording import Wording
from pricing.records.listing import Sentence
from pricing.records.publication import Deviation, Publication


@dataclass(frozen=True)
class BoxContext:
    """One line as the template sees it."""

    number: str = field(metadata={"help": "Its place, from 1: value and identifier of its box."})
    text: str = field(metadata={"help": "The disclosure, word for word as in our listing, not yet escaped."})
    rule: str = field(metadata={"help": "The rule that it serves, or empty where none is known."})


@dataclass(frozen=True)
class FormContext:
    """The form as the template sees it."""

    language: str = field(metadata={"help": "Language tag for the page ('en')."})
    whole: bool = field(metadata={"help": "A page of its own; else only the form, for a page of the shop."})
    heading: str = field(metadata={"help": "What the lines are."})
    title: str = field(metadata={"help": "Title of the unit's listing."})
    how: str = field(metadata={"help": "What the buyer is asked to do."})
    law: str = field(metadata={"help": "The law whose rules the lines name; empty where none is known."})
    boxes: tuple[BoxContext, ...] = field(metadata={"help": "The lines, hidden ones first as in the listing."})
    nothing: str = field(metadata={"help": "Said instead of the lines when there are none."})
    said: str = field(metadata={"help": "What came of the answer just sent; empty before any."})
    done: bool = field(metadata={"help": "Every line is accepted: the form is not shown again."})
    digest: str = field(metadata={"help": "SHA-256 of the published text, sent back with the answer."})
    buyer: str = field(metadata={"help": "The buyer's reference, if the shop has given one."})
    buyer_label: str = field(metadata={"help": "Name of the field for the reference."})
    total: str = field(metadata={"help": "How many lines there are, so that none is missed."})
    send: str = field(metadata={"help": "Name of the button."})
    rights: str = field(metadata={"help": "That other rights stay."})


def deviations_of(sentences: Sequence[Sentence], country: str | None) -> tuple[Deviation, ...]:
    """Return one line for each disclosure, with the rule of the country that it serves, where that is known."""
    return lines_of(sentences, _rules(country))


def lines_of(sentences: Sequence[Sentence], rules: SheetRules | None) -> tuple[Deviation, ...]:
    """Return one line for each disclosure, numbered from 1, with the rule that it serves; None: no rule is named."""
    disclosures = [sentence for sentence in sentences if sentence.disclosure]
    return tuple(
        Deviation(
            number=number,
            text=sentence.text,
            rule="" if rules is None else rules.rule_of(sentence),
            facts=sentence.facts,
        )
        for number, sentence in enumerate(disclosures, start=1)
    )


def render_form(
    published: Publication,
    country: str | None,
    *,
    buyer: str = "",
    accepted: Sequence[int] | None = None,
    whole: bool = True,
) -> str:
    """Return the form of a published listing, in its language, as a page of HTML or as a form for the shop's own page.

    ``accepted`` are the numbers of the lines that an answer just accepted; None: nothing was sent yet. No box is ever
    ticked beforehand, not even one that was ticked in an answer that was not complete.

    Raises:
        NotFound: There is no such language.
    """
    context = _context(published, country, buyer, accepted, whole)
    template = environment("html").get_template(DEVIATIONS)
    return template.render({field.name: getattr(context, field.name) for field in fields(context)})


def deviation_message(published: Publication, country: str | None) -> str:
    """Return what to send to a buyer before payment where the channel takes no answers; "" when there is no line.

    Raises:
        NotFound: There is no such language.
    """
    if not published.deviations:
        return ""
    wording = Wording(published.listing.language)
    lines = [
        f"{deviation.number}. {deviation.text}" + (f" ({deviation.rule})" if deviation.rule else "")
        for deviation in published.deviations
    ]
    parts = (
        wording.phrase("deviations_ask", title=published.listing.title.rstrip(".")),
        _law(country, wording),
        "\n".join(lines),
        wording.phrase("sheet_total", count=len(lines)) + " " + wording.phrase("deviations_answer"),
        wording.phrase("deviations_rights"),
        wording.phrase("sheet_digest", digest=published.text_digest),
    )
    return "\n\n".join(part for part in parts if part) + "\n"


def _context(
    published: Publication, country: str | None, buyer: str, accepted: Sequence[int] | None, whole: bool
) -> FormContext:
    wording = Wording(published.listing.language)
    count = len(published.deviations)
    still_open = [line.number for line in published.deviations if accepted is None or line.number not in accepted]
    return FormContext(
        language=wording.language.tag,
        whole=whole,
        heading=wording.phrase("sheet_heading"),
        title=published.listing.title,
        how=wording.phrase("deviations_how"),
        law=_law(country, wording),
        boxes=tuple(BoxContext(str(line.number), line.text, line.rule) for line in published.deviations),
        nothing="" if count else wording.phrase("sheet_nothing"),
        said="" if accepted is None or not count else _said(still_open, buyer, wording),
        done=accepted is not None and not still_open,
        digest=published.text_digest,
        buyer=buyer,
        buyer_label=wording.phrase("deviations_buyer"),
        total=wording.phrase("sheet_total", count=count),
        send=wording.phrase("deviations_send"),
        rights=wording.phrase("deviations_rights"),
    )


def _said(still_open: Sequence[int], buyer: str, wording: Wording) -> str:
    if not still_open:
        return wording.phrase("deviations_done", buyer=buyer)
    numbers = [wording.phrase("deviations_line", number=str(number)) for number in still_open]
    return wording.phrase("deviations_open", numbers=wording.enumerated(numbers))


def _law(country: str | None, wording: Wording) -> str:
    rules = _rules(country)
    return "" if rules is None else law_said(rules, wording)


def law_said(rules: SheetRules, wording: Wording) -> str:
    """Return which law the lines are measured by, and where it asks that they be accepted one by one."""
    return wording.phrase("sheet_law", law=law_in(rules, wording.language.tag), rule=rules.accepted)


def _rules(country: str | None) -> SheetRules | None:
    return None if country is None else known_rules(country)
