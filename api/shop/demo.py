"""The whole job on invented goods, from sales to a listing that is read again."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from api.settings import Settings
from api.shop.comparables import SalesImport, import_sales
from api.shop.demo_goods import DEVICE_CLASS, SHELF, STORY_CHANGES, STORY_UNIT, UNITS_CSV
from api.shop.estimates import explanation, keep_estimate, what_if_changed
from api.shop.files import write_text
from api.shop.listings import check_text, keep_listing, write_listing
from api.shop.model_cards import cards_beside, write_cards
from api.shop.models import Fit, fit_store, write_model
from api.shop.shop import Shop, clock
from api.shop.units import add_unit
from data.demo.generate import generate, write_csv
from data.demo.truth import Truth
from pricing.errors import BadInput, Problem
from pricing.records.estimate import Estimate, Explanation, WhatIf
from pricing.records.finding import Finding
from pricing.records.listing import Listing
from pricing.records.unit import Unit

_LEFT_OUT = "function:camera_wide"
_CLAIM = "The ultra-wide camera works."
_FILES = {
    "store": "shop.sqlite",
    "sales": "phone-sales.csv",
    "units": "phone-units.csv",
    "model": "phone.json",
    "unit": "unit.json",
    "listing": "listing.txt",
    "tampered": "tampered.txt",
}


@dataclass(frozen=True)
class Story:
    """What the demo did and found, in the order in which it is told.

    Attributes:
        folder: Where everything lies.
        sales: The import of the invented sales.
        fit: The model that was learnt from them.
        unit: The unit that the story follows.
        estimate, explanation: What it is worth, and why.
        what_ifs: What is changed, in words -> what that does.
        listing: Its listing.
        tampered: The listing after somebody took out a defect.
        findings: What is wrong with that.
    """

    folder: Path
    sales: SalesImport
    fit: Fit
    unit: Unit
    estimate: Estimate
    explanation: Explanation
    what_ifs: Mapping[str, WhatIf]
    listing: Listing
    tampered: str
    findings: tuple[Finding, ...]


def run_demo(folder: Path, seed: int) -> Story:
    """Do the whole job in a new or empty folder; ``seed`` fixes which sales are drawn.

    Raises:
        BadInput: The folder holds something, or cannot be made.
    """
    _make_folder(folder)
    _write_goods(folder, seed)
    shop = Shop(Settings(home=folder, store=f"sqlite:///{folder / _FILES['store']}"), _after_the_sales)
    described = shop.class_named(DEVICE_CLASS)
    sold = import_sales(shop, folder / _FILES["sales"], described)
    fit = fit_store(shop, DEVICE_CLASS)
    write_model(fit.model, folder / _FILES["model"])
    write_cards(fit, cards_beside(folder / _FILES["model"]))
    unit = add_unit(shop, Unit.model_validate(STORY_UNIT)).unit
    estimate = keep_estimate(shop, fit.model, unit).said
    listing = write_listing(unit, described, form="text", on=shop.today, model=fit.model)
    keep_listing(shop, unit, listing)
    tampered = _tampered(listing)
    write_text(folder / _FILES["listing"], listing.body)
    write_text(folder / _FILES["tampered"], tampered)
    story = Story(
        folder=folder,
        sales=sold,
        fit=fit,
        unit=unit,
        estimate=estimate,
        explanation=explanation(shop, fit.model, unit),
        what_ifs={words: what_if_changed(fit.model, unit, sets) for words, sets in STORY_CHANGES.items()},
        listing=listing,
        tampered=tampered,
        findings=check_text(tampered, unit, described, on=shop.today),
    )
    shop.close()
    return story


def free_folder(name: str) -> Path:
    """Return ``name``, or the first of ``name``-2, ``name``-3 and so on that is not there yet."""
    chosen, count = Path(name), 1
    while chosen.exists():
        count += 1
        chosen = Path(f"{name}-{count}")
    return chosen


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        full = next(folder.iterdir(), None)
    except OSError as error:
        problem = Problem(str(folder), None, None, str(error), "a folder that can be made")
        raise BadInput(str(problem), (problem,)) from error
    if full is not None:
        problem = Problem(str(folder), None, None, f"a folder with {full.name} in it", "a new or empty folder")
        raise BadInput(str(problem), (problem,))


def _write_goods(folder: Path, seed: int) -> None:
    goods = generate(seed, classes=(DEVICE_CLASS,))
    write_csv(goods.tables[DEVICE_CLASS], goods.device_classes[DEVICE_CLASS], folder / _FILES["sales"])
    write_text(folder / _FILES["units"], UNITS_CSV)
    write_text(folder / _FILES["unit"], _as_json(STORY_UNIT))
    shelf = folder / "shelf"
    shelf.mkdir()
    for unit in SHELF:
        write_text(shelf / f"{unit['number']}.json", _as_json(unit))


def _as_json(unit: Mapping[str, object]) -> str:
    return json.dumps(unit, indent=2) + "\n"


def _after_the_sales() -> datetime:
    # The invented sales end on a fixed day; on a machine whose clock is before it they would be refused.
    last = Truth.last_day
    end = datetime(last.year, last.month, last.day, tzinfo=clock().tzinfo) + timedelta(days=1)
    return max(clock(), end)


def _tampered(listing: Listing) -> str:
    """Return the listing with the hidden defect taken out and a claim put in its place."""
    said = [sentence for sentence in listing.sentences if sentence.disclosure and _LEFT_OUT in sentence.facts]
    first, *others = (sentence.text for sentence in said)
    lines = [line for line in listing.body.splitlines() if not any(other in line for other in others)]
    return "\n".join(lines).replace(first, _CLAIM) + "\n"
