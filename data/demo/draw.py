"""Drawing the invented units: identity, specifications and condition, with nothing left blank yet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from data.demo.truth import BrandTruth, ClassTruth, States, Truth
from data.demo.value import has_word, is_blocked
from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import (
    NOT_STATED,
    BoolArray,
    ConditionTable,
    DayArray,
    FloatArray,
    TextColumn,
)

PARTS_SHARE = 0.04
BATTERY_MEAN, BATTERY_SPREAD, BATTERY_LOWEST = 86.0, 8.0, 55.0
# Ways of selling and countries move no price in the demo market.
CHANNELS = (("counter", 0.35), ("online auction", 0.30), ("online fixed price", 0.35))
COUNTRIES = (("AT", 0.2), ("BE", 0.2), ("DK", 0.2), ("FI", 0.2), ("NL", 0.2))
POSTAGE = (("yes", 0.5), ("no", 0.5))


@dataclass(frozen=True, eq=False)
class _Identity:
    """Brand and model of each row, and what the model fixes."""

    texts: Mapping[str, TextColumn]
    numbers: Mapping[str, FloatArray]
    lacks: Mapping[str, BoolArray]


def draw_condition(
    rng: np.random.Generator, truth: Truth, device_class: DeviceClass, rows: int
) -> ConditionTable:
    """Return ``rows`` invented units with nothing left blank, in order of the day of sale.

    Raises:
        NotFound: There are no demo sales of this class.
    """
    known = truth.of_class(device_class.name)
    identity = _draw_identity(rng, known, rows)
    numbers = dict(identity.numbers)
    for name, (values, shares) in known.free_numbers.items():
        numbers[name] = np.array(values)[pick(rng, shares, rows)]
    if any(curve.attribute == "battery_share" for curve in known.curves):
        drawn = rng.normal(BATTERY_MEAN, BATTERY_SPREAD, rows).round()
        numbers["battery_share"] = np.clip(drawn, BATTERY_LOWEST, 100.0)
    texts = dict(identity.texts)
    texts |= {item.name: draw_states(rng, item, rows) for item in known.choices if item.name not in texts}
    for name, words in (("channel", CHANNELS), ("country", COUNTRIES), ("price_includes_postage", POSTAGE)):
        codes = pick(rng, [share for _, share in words], rows)
        texts[name] = TextColumn(codes.astype(np.int32), tuple(word for word, _ in words))
    return ConditionTable(
        rows=rows,
        numbers=numbers,
        texts=texts,
        faults=_draw_faults(rng, known, device_class, identity.lacks, rows),
        marks={mark.name: draw_states(rng, mark, rows) for mark in known.marks},
        parts={part.name: draw_states(rng, part, rows) for part in known.parts},
        locks={lock.name: draw_states(rng, lock, rows) for lock in known.locks},
        sold_as=TextColumn((rng.random(rows) < PARTS_SHARE).astype(np.int32), ("working", "parts")),
        sold_on=_draw_days(rng, truth, rows),
    )


def draw_states(rng: np.random.Generator, states: States, rows: int) -> TextColumn:
    """Return one column of states, each with its share of the rows."""
    return TextColumn(pick(rng, states.shares, rows).astype(np.int32), states.words)


def with_blanks(
    rng: np.random.Generator, column: TextColumn, blank_share: float, always_said: Sequence[str] = ()
) -> TextColumn:
    """Return the column with a random share of cells not stated, whatever they hold."""
    hidden = rng.random(len(column.codes)) < blank_share
    if always_said:
        hidden &= ~has_word(column, *always_said)
    codes = np.where(hidden, NOT_STATED, column.codes).astype(np.int32)
    return TextColumn(codes, column.levels)


def pick(rng: np.random.Generator, shares: Sequence[float] | FloatArray, rows: int) -> NDArray[np.intp]:
    """Return ``rows`` places in ``shares``, each drawn with its share."""
    edges = np.cumsum(np.asarray(shares, dtype=np.float64))
    places = np.searchsorted(edges / edges[-1], rng.random(rows), side="right")
    return np.minimum(places, len(edges) - 1)


def _draw_days(rng: np.random.Generator, truth: Truth, rows: int) -> DayArray:
    first = np.datetime64(truth.first_day, "D")
    span = (truth.last_day - truth.first_day).days + 1
    days: DayArray = np.sort(first + rng.integers(0, span, rows))
    return days


def _draw_brands(rng: np.random.Generator, brands: Sequence[BrandTruth], rows: int) -> NDArray[np.intp]:
    chosen = pick(rng, [brand.share for brand in brands], rows)
    wanted = np.repeat(np.arange(len(brands)), [brand.exact_sales or 0 for brand in brands])
    spots = rng.permutation(rows)[: len(wanted)]
    chosen[spots] = wanted[: len(spots)]
    return chosen


def _draw_identity(rng: np.random.Generator, known: ClassTruth, rows: int) -> _Identity:
    brand = _draw_brands(rng, known.brands, rows)
    models = [model for owner in known.brands for model in owner.models]
    model = np.zeros(rows, dtype=np.intp)
    start = 0
    for place, owner in enumerate(known.brands):
        here = np.flatnonzero(brand == place)
        if owner.exact_sales is not None:
            inside = np.arange(len(here)) % len(owner.models)
        else:
            inside = pick(rng, [item.share for item in owner.models], len(here))
        model[here] = start + inside
        start += len(owner.models)
    names = sorted({name for item in models for name in item.numbers})
    numbers = {name: np.array([item.numbers[name] for item in models])[model] for name in names}
    lacking = sorted({name for item in models for name in item.not_fitted})
    lacks = {name: np.array([name in item.not_fitted for item in models])[model] for name in lacking}
    texts = {
        "brand": TextColumn(brand.astype(np.int32), tuple(owner.name for owner in known.brands)),
        "model": TextColumn(model.astype(np.int32), tuple(item.name for item in models)),
    }
    for name in models[0].texts:
        words = tuple(sorted({item.texts[name] for item in models}))
        codes = np.array([words.index(item.texts[name]) for item in models], dtype=np.int32)
        texts[name] = TextColumn(codes[model], words)
    return _Identity(
        texts=texts,
        numbers=numbers,
        lacks=lacks,
    )


def _draw_faults(
    rng: np.random.Generator,
    known: ClassTruth,
    device_class: DeviceClass,
    lacks: Mapping[str, BoolArray],
    rows: int,
) -> dict[str, TextColumn]:
    drawn = {fault.name: draw_states(rng, fault, rows) for fault in known.faults}
    for name, lacking in lacks.items():
        drawn[name] = _replaced(drawn[name], lacking, "not fitted")
    seen = dict(drawn)
    for name, column in drawn.items():
        # Nobody can test a function while one that it requires is dead; the unit tells nothing of it.
        untestable = is_blocked(device_class, drawn, name) & ~has_word(column, "not fitted")
        seen[name] = _replaced(column, untestable, "untested")
    return seen


def _replaced(column: TextColumn, where: BoolArray, word: str) -> TextColumn:
    levels = column.levels if word in column.levels else (*column.levels, word)
    codes = np.where(where, levels.index(word), column.codes).astype(np.int32)
    return TextColumn(codes, levels)
