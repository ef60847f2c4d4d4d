"""Drawing the demo sales: invented units, their true prices, and what their sellers say of them.

The state of every unit is drawn first, then its price from the true state, then cells are blanked at random
without regard to what they hold. Two states are never blanked, because no seller is silent about them: a dead
function that others need, and a lock that holds the unit. So a blank means the same in every row, and what it
hides is noise that does not lean to one side.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from data.catalogue.reader import find_class
from data.demo.brands import with_brands
from data.demo.consoles import CONSOLE
from data.demo.draw import draw_condition, with_blanks
from data.demo.laptops import LAPTOP
from data.demo.phones import PHONE
from data.demo.sales_file import write_csv
from data.demo.truth import States, Truth
from data.demo.value import (
    BLOCKING,
    has_word,
    is_for_parts,
    required_by,
    true_median_log,
    true_spread_log,
)
from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import BoolArray, ConditionTable, FloatArray, SalesTable, TextColumn

__all__ = ["DemoData", "generate", "make_truth", "write_csv"]

CURRENCY = "EUR"
ASKED_SHARE = 0.15
REFUNDED_SHARE = 0.01
BATTERY_BLANK = 0.4
LISTING_KNOWN = 0.6
DAYS_LISTED = 14.0
CLASSES = {known.name: known for known in (PHONE, LAPTOP, CONSOLE)}


@dataclass(frozen=True, eq=False)
class DemoData:
    """Demo sales with what is true of them.

    Attributes:
        tables: Class name -> sales as their sellers tell them, blanks included.
        device_classes: Class name -> class.
        truth: The coefficients behind them.
        complete: Class name -> the true state of the same rows, nothing blank.
        median_log: Class name -> ln of the true median price in EUR, shape (rows,).
    """

    tables: Mapping[str, SalesTable]
    device_classes: Mapping[str, DeviceClass]
    truth: Truth
    complete: Mapping[str, ConditionTable]
    median_log: Mapping[str, FloatArray]


def make_truth(seed: int, *, classes: Sequence[str] = tuple(CLASSES), redraw_brands: bool = False) -> Truth:
    """Return the coefficients: stated ones, and the monthly walk of this seed.

    Args:
        seed: Any whole number from 0.
        classes: Names of the classes wanted.
        redraw_brands: Draw brand and model effects anew from their stated spreads.

    Raises:
        NotFound: There are no demo coefficients of a class.
    """
    stated = Truth(classes=CLASSES, walk_log=np.zeros(1))
    rng = np.random.default_rng([seed, 1])
    months = (stated.last_day.year - stated.first_day.year) * 12
    months += stated.last_day.month - stated.first_day.month + 1
    walk = np.cumsum(rng.normal(0.0, stated.walk_sd_log, months))
    chance = rng if redraw_brands else None
    return replace(
        stated,
        classes={name: with_brands(stated.of_class(name), chance) for name in classes},
        walk_log=walk,
    )


def generate(
    seed: int,
    *,
    rows: Mapping[str, int] | None = None,
    classes: Sequence[str] | None = None,
    redraw_brands: bool = False,
    truth: Truth | None = None,
    device_classes: Mapping[str, DeviceClass] | None = None,
) -> DemoData:
    """Draw demo sales; the same arguments give the same sales.

    Args:
        seed: Any whole number from 0.
        rows: Class name -> number of sales; a class that is not named has its own default.
        classes: Names of the classes wanted; by default those of ``rows``, else all.
        redraw_brands: Draw brand and model effects anew from their stated spreads.
        truth: Draw from these coefficients instead: fresh sales of a market that is known already.
        device_classes: Class descriptions to use instead of the packaged ones.

    Raises:
        NotFound: There are no demo coefficients, or no description, of a class.
    """
    wanted = tuple(classes or rows or (truth.classes if truth else CLASSES))
    known = truth or make_truth(seed, classes=wanted, redraw_brands=redraw_brands)
    tables, described, complete, median_log = {}, {}, {}, {}
    for name in wanted:
        count = (rows or {}).get(name, known.of_class(name).rows)
        described[name] = (device_classes or {}).get(name) or find_class(name)
        rng = np.random.default_rng([seed, 2, *name.encode()])
        condition = draw_condition(rng, known, described[name], count)
        asked = rng.random(count) < ASKED_SHARE
        median_log[name] = true_median_log(known, described[name], condition, asked)
        noise = rng.normal(0.0, true_spread_log(known, described[name], condition))
        # A price is paid in whole cents; nothing is sold for less than one.
        price = np.maximum(np.exp(median_log[name] + noise).round(2), 0.01)
        complete[name] = condition
        tables[name] = _as_told(rng, known, described[name], condition, price, asked)
    return DemoData(tables, described, known, complete, median_log)


def _as_told(
    rng: np.random.Generator,
    truth: Truth,
    device_class: DeviceClass,
    condition: ConditionTable,
    price: FloatArray,
    asked: BoolArray,
) -> SalesTable:
    told = _told_condition(rng, truth, device_class, condition)
    rows = condition.rows
    known = rng.random(rows) < LISTING_KNOWN
    still = asked & known & (rng.random(rows) < 0.5)
    withdrawn = asked & known & ~still
    raised = np.where(asked, 1.0, 1.0 + rng.uniform(0.0, 0.15, rows))
    waited = rng.geometric(1.0 / DAYS_LISTED, rows).astype("timedelta64[D]")
    sold_on = condition.sold_on
    assert sold_on is not None  # noqa: S101 - drawn with every table
    never = np.datetime64("NaT", "D")
    return SalesTable(
        condition=told,
        price=price,
        currency=CURRENCY,
        asked=asked,
        refunded=~asked & (rng.random(rows) < REFUNDED_SHARE),
        ask=np.where(known, (price * raised).round(2), np.nan),
        listed_on=np.where(known, sold_on - waited, never),
        withdrawn_on=np.where(withdrawn, sold_on, never),
        still_listed=still,
        line=np.arange(2, rows + 2, dtype=np.int64),
    )


def _told_condition(
    rng: np.random.Generator, truth: Truth, device_class: DeviceClass, condition: ConditionTable
) -> ConditionTable:
    known = truth.of_class(device_class.name)
    numbers, texts = dict(condition.numbers), dict(condition.texts)
    if "battery_share" in numbers:
        hidden = rng.random(condition.rows) < BATTERY_BLANK
        numbers["battery_share"] = np.where(hidden, np.nan, numbers["battery_share"])
    for choice in known.choices:
        texts[choice.name] = with_blanks(rng, texts[choice.name], choice.blank_share)
    needed = {name for fault in known.faults for name in required_by(device_class, fault.name)}
    faults = {
        fault.name: with_blanks(
            rng, condition.faults[fault.name], fault.blank_share, BLOCKING if fault.name in needed else ()
        )
        for fault in known.faults
    }
    return replace(
        condition,
        numbers=numbers,
        texts=texts,
        faults=faults,
        marks=_told(rng, known.marks, condition.marks),
        parts=_told(rng, known.parts, condition.parts),
        locks=_told(rng, known.locks, condition.locks),
        sold_as=_told_sold_as(condition, faults),
    )


def _told(
    rng: np.random.Generator, group: Sequence[States], columns: Mapping[str, TextColumn]
) -> dict[str, TextColumn]:
    return {
        states.name: with_blanks(rng, columns[states.name], states.blank_share, states.always_said)
        for states in group
    }


def _told_sold_as(condition: ConditionTable, faults: Mapping[str, TextColumn]) -> TextColumn:
    """A unit is offered as faulty when its seller says of any function that it fails."""
    faulty = np.zeros(condition.rows, dtype=np.bool_)
    for column in faults.values():
        faulty |= has_word(column, "impaired", "dead", "removed")
    codes = np.where(is_for_parts(condition), 2, faulty.astype(np.int32)).astype(np.int32)
    return TextColumn(codes, ("working", "faulty", "parts"))
