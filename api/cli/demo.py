"""The command ``demo``: the whole job on invented goods, told step by step."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from api.cli.models import summary_of, words_of
from api.cli.options import JsonOption, SeedOption
from api.cli.output import note, print_json, print_text, say, show_heading, show_table, working
from api.cli.telling import tell_estimate, tell_explanation, told_money
from api.cli.telling_listings import tell_findings
from api.error_replies import WELL
from api.shop.demo import Story, free_folder, run_demo
from api.shop.demo_goods import STORY_WORDS

INVENTED = (
    "Everything here is invented: brands, models, sales and prices. The figures say nothing about the real "
    "world. They show what the same commands do with your own sales."
)


def demo(
    folder: Annotated[
        Path | None, typer.Option("--folder", metavar="DIR", help="New or empty folder for all files.")
    ] = None,
    seed: SeedOption = 1,
    as_json: JsonOption = False,
) -> int:
    """Show the whole job on invented goods: sales, model, price, what-if, listing, check.

    Example: plainsale demo --folder demo-goods
    """
    with working("Drawing sales, learning prices, writing the listing"):
        story = run_demo(folder or free_folder("plainsale-demo"), seed)
    if as_json:
        print_json(_plain(story))
        return WELL
    say(INVENTED)
    _tell_learning(story)
    _tell_price(story)
    _tell_what_ifs(story)
    _tell_listing(story)
    _tell_own_sales(story)
    return WELL


def _tell_learning(story: Story) -> None:
    show_heading("1. Sales and what they teach")
    say(f"{story.sales.batch.rows} invented sales are in {story.folder / 'phone-sales.csv'} and in the store.")
    say(*words_of(story.fit))
    say(f"What the model found, how far off it was and where it ends: {story.folder / 'phone.card.html'}.")
    for notice in story.fit.model.notices:
        note(notice)


def _tell_price(story: Story) -> None:
    show_heading("2. The unit and what it is worth")
    say(STORY_WORDS, "")
    tell_estimate(story.estimate)
    tell_explanation(story.explanation, most=12)


def _tell_what_ifs(story: Story) -> None:
    show_heading("3. What each change would do to the price")
    missing, *_ = story.what_ifs.values()
    say(f"The missing camera costs {told_money(missing.change)}: with it the unit is worth that much more.")
    rows = [
        (
            words,
            told_money(found.after),
            told_money(found.change, signed=True),
            f"{told_money(found.low_95, signed=True)} to {told_money(found.high_95, signed=True)}",
        )
        for words, found in story.what_ifs.items()
    ]
    show_table(("if", "worth", "change", "95 of 100"), rows, right=("worth", "change", "95 of 100"))


def _tell_listing(story: Story) -> None:
    show_heading("4. The listing: every defect is said, the hidden one first")
    print_text(story.listing.body)
    show_heading("5. The same listing after somebody took the defect out, read against the unit")
    tell_findings(story.findings)


def _tell_own_sales(story: Story) -> None:
    show_heading("6. With your own sales")
    say("A CSV file with a column price is enough; currency, sold_on and the attributes make it better:")
    print_text(
        "  plainsale import --class phone --sales my-sales.csv\n"
        "  plainsale fit --class phone\n"
        "  plainsale price --class phone --unit my-unit.json\n"
        "  plainsale list --unit my-unit.json"
    )
    say(f"Files of this demo, to try things on: {story.folder}", INVENTED)


def _plain(story: Story) -> dict[str, object]:
    return {
        "folder": str(story.folder),
        "fit": summary_of(story.fit),
        "estimate": story.estimate.model_dump(mode="json"),
        "explanation": story.explanation.model_dump(mode="json"),
        "what_if": {words: found.model_dump(mode="json") for words, found in story.what_ifs.items()},
        "listing": story.listing.body,
        "tampered": story.tampered,
        "findings": [finding.model_dump(mode="json") for finding in story.findings],
        "invented": INVENTED,
    }
