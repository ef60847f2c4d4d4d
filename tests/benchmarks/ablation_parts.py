"""The parts of the price model that can be taken out one at a time, and what stands in the place of each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from pricing.hedonic.conformal import calibrate
from pricing.hedonic.design import Design, Term
from pricing.hedonic.fault_term import FaultTerm
from pricing.hedonic.fit import CORE, FitSettings
from pricing.hedonic.level_term import LevelTerm
from pricing.hedonic.model import PriceModel
from pricing.hedonic.number_term import NumberTerm
from pricing.hedonic.state_term import StateTerm

FULL, MAIN = "full", "main"
EVERYTHING = FitSettings()
# On ln(price): effects that a bound holds together differ in their last digits, by the processor.
ROUNDING = 1e-9


@dataclass(frozen=True, kw_only=True)
class Part:
    """One way to fit, and what it is compared with.

    Attributes:
        title: What is left out.
        beside: The part that has it; "" for the two that others are compared with.
        settings: Of the fit.
        design: What becomes of the columns of main effects before the fit; None: they stay.
        finish: What becomes of the model fitted as ``beside``; such a part needs no fit of its own.
    """

    title: str
    beside: str = FULL
    settings: FitSettings = EVERYTHING
    design: Callable[[Design], Design] | None = None
    finish: Callable[[PriceModel], PriceModel] | None = None


def without_pooling(design: Design) -> Design:
    """Return the design with a free effect for each level, and for each fault its own prior, shared with no other."""
    return replace(design, terms=tuple(_on_its_own(term) for term in design.terms))


def _on_its_own(term: Term) -> Term:
    if isinstance(term, LevelTerm):
        return replace(term, reference=True)
    if isinstance(term, FaultTerm):
        return replace(term, states=replace(term.states, pooled=False))
    if isinstance(term, StateTerm):
        return replace(term, pooled=False)
    return term


def without_bends(design: Design) -> Design:
    """Return the design with straight numbers only."""
    return replace(design, terms=tuple(_straight(term) for term in design.terms))


def _straight(term: Term) -> Term:
    if not isinstance(term, NumberTerm):
        return term
    return replace(term, knots=np.empty(0), bends=np.empty((0, 0)), bend_centres=np.empty(0))


def without_calibration(model: PriceModel) -> PriceModel:
    """Return the model as fitted with calibration off: Student t everywhere, and no shift to the median."""
    freedom = model.calibration.freedom
    return replace(model, calibration=calibrate(model.held.score, freedom, False), by_support={}, shift=0.0)


def one_calibration(model: PriceModel) -> PriceModel:
    """Return the model with the same quantiles in every third and for every class of support."""
    return replace(model, calibration=calibrate(model.held.score, model.calibration.freedom), by_support={})


PARTS = {
    FULL: Part(title="the full recipe", beside=""),
    "pooling": Part(title="pooling of levels and of faults", design=without_pooling),
    "bends": Part(title="bends", design=without_bends),
    "spread": Part(title="spread", settings=FitSettings(spread=False)),
    "interactions": Part(title="interactions", settings=FitSettings(interactions=False)),
    "trees": Part(title="trees", settings=FitSettings(trees=False)),
    "interactions and trees": Part(title="interactions and trees", settings=CORE),
    "calibration": Part(title="calibration", finish=without_calibration),
    "thirds": Part(title="quantiles by third and support", finish=one_calibration),
    "bounds": Part(title="bounds", settings=FitSettings(signs=False)),
    MAIN: Part(
        title="main effects without bounds", beside="",
        settings=FitSettings(signs=False, interactions=False, trees=False),
    ),
    "penalties": Part(
        title="all penalties at once", beside=MAIN,
        settings=FitSettings(penalties=False, interactions=False, trees=False),
    ),
}  # fmt: skip


@dataclass(frozen=True)
class Broken:
    """Bounds that a fit without them breaks.

    Attributes:
        raising: Of the states that sales had, those that would raise the price.
        states: How many states of faults, marks, locks and parts the sales had.
        order: Pairs in the wrong order: what nobody stated worse than a fault, or untested worse than dead.
        numbers: Numbers whose price would somewhere go the wrong way.
    """

    raising: tuple[str, ...]
    states: int
    order: int
    numbers: tuple[str, ...]


def broken_bounds(model: PriceModel) -> Broken:
    """Return what the model's effects say against the bounds; none, when it was fitted with them."""
    design, effects = model.design, model.free_effects
    raising: list[str] = []
    states = 0
    for term, place in zip(design.terms, design.places, strict=True):
        found = term.states if isinstance(term, FaultTerm) else term
        if isinstance(found, StateTerm):
            own = effects[place.hot : place.hot + found.hot_columns].reshape(len(found.things), found.width)[:, :-1]
            sold = found.sales[:, :-1] > 0
            states += int(np.count_nonzero(sold))
            raising += [f"{found.things[i]} {found.states[j]}" for i, j in np.argwhere(sold & (own > ROUNDING))]
    return Broken(tuple(raising), states, _wrong_order(design, effects), _wrong_numbers(design, effects))


def _wrong_order(design: Design, effects: np.ndarray) -> int:
    """Return how many pairs of one-hot columns stand in the wrong order."""
    pairs = [row for row in design.sign_rows() if len(row) == 2 and min(row) >= design.dense_columns]
    gaps = (sum(factor * effects[column] for column, factor in row.items()) for row in pairs)
    return sum(bool(gap < -ROUNDING) for gap in gaps)


def _wrong_numbers(design: Design, effects: np.ndarray) -> tuple[str, ...]:
    found = []
    for term, place in zip(design.terms, design.places, strict=True):
        if isinstance(term, NumberTerm) and term.effect != "free":
            columns = slice(place.dense, place.dense + term.dense_columns)
            ends = term.standardised(np.array([term.low, term.high]))
            slopes = term.slopes(np.linspace(ends[0], ends[1], 81)) @ effects[columns]
            sign = 1 if term.effect == "raises" else -1
            if (sign * slopes < 0).any():
                found.append(term.name)
    return tuple(found)
