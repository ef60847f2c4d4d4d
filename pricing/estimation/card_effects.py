"""What a fitted model found, as effects in percent of the price with 95 % intervals.

An effect is a contrast c of raw columns: exp(c'beta) - 1, both ends of c'beta +- 1.96 s sqrt(c'Vc) exponentiated.
The interval comes from the effects without bounds, is cut at 0 where a bound forbids the other side, and holds the
bounded effect. States are against the same thing working or clean, numbers against their median, levels against
the average of the sales beside them (a model against those of its brand).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from pricing.estimation.estimate import currency_of
from pricing.estimation.explain import reference_table
from pricing.estimation.reasons import state_title
from pricing.hedonic.fault_term import FaultTerm
from pricing.hedonic.level_term import LevelTerm
from pricing.hedonic.market_term import MarketTerm, sold_for_parts
from pricing.hedonic.model import PriceModel
from pricing.hedonic.number_term import NumberTerm
from pricing.hedonic.percent_effect import percent_effect, percent_interval
from pricing.hedonic.state_term import StateTerm
from pricing.hedonic.time_term import TimeTerm
from pricing.records.model_card import CardEffect, EffectKind
from pricing.records.money import Money, money_from_float
from pricing.records.sales_table import ConditionTable, FloatArray, SalesTable

MOST_LEVELS = 12
_NORMAL_95 = 1.959963984540054


@dataclass(frozen=True, eq=False)
class _Contrasts:
    """Effects on the log of price with their 95 % intervals, shape (contrasts,) each."""

    effect: FloatArray
    low: FloatArray
    high: FloatArray


@dataclass(frozen=True, eq=False)
class _Card:
    """What every effect is told with: the model, its sales if at hand, its typical unit and what that is worth."""

    model: PriceModel
    sales: SalesTable | None
    typical: ConditionTable
    worth: float

    def price(self, effect_log: float) -> Money:
        """Return what the typical unit is worth with an effect on the log of price."""
        return money_from_float(self.worth * float(np.exp(effect_log)), currency_of(self.model))


def effects_of(model: PriceModel, sales: SalesTable | None = None) -> tuple[CardEffect, ...]:
    """Return what moves the price.

    Args:
        model: The fitted model.
        sales: What it was fitted to; None: medians and some counts are not known.

    Returns:
        Faults, marks, locks and parts with those that sales had first, the heaviest first; then numbers, the
        commonest levels of each group, what was only asked or sold for parts, and a year's drift.
    """
    typical = reference_table(model, model.dated(ConditionTable(rows=1), None))
    worth = float(model.estimate(model.predict(typical))[0])
    card = _Card(model, sales, typical, worth)
    states, others = [], []
    for number, term in enumerate(model.design.terms):
        if isinstance(term, FaultTerm | StateTerm):
            states += _of_states(card, number)
        elif isinstance(term, NumberTerm):
            others += _of_number(card, number)
        elif isinstance(term, LevelTerm):
            others += _of_levels(card, number)
        elif isinstance(term, MarketTerm | TimeTerm):
            others += _of_market(card, number)
    return (*sorted(states, key=lambda each: (each.sales == 0, each.percent, each.label)), *others)


def title_of(model: PriceModel, name: str) -> str:
    """Return what people call an attribute or a column of the contract."""
    attribute = model.device_class.attributes_by_name.get(name)
    return attribute.title if attribute is not None else name.replace("_", " ")


def unit_of(model: PriceModel, name: str) -> str:
    """Return the unit of a number, "" when it has none."""
    attribute = model.device_class.attributes_by_name.get(name)
    if attribute is None:
        return "%" if name == "battery_share" else ""
    return attribute.unit or ""


def _contrasts(
    model: PriceModel, rows: FloatArray, directions: FloatArray, trees: FloatArray | float = 0.0
) -> _Contrasts:
    """Return the effects of raw contrasts, shape (contrasts, columns).

    ``directions`` is -1 where an effect is bound not to raise the price, 1 not to lower it, 0 where it is free;
    ``trees`` is what the trees' correction adds to each.
    """
    effect, free = rows @ model.effects + trees, rows @ model.free_effects + trees
    used = np.flatnonzero(np.any(rows != 0, axis=0))
    part = rows[:, used]
    variance = np.einsum("ij,ij->i", part @ model.inverse[np.ix_(used, used)], part)
    half = _NORMAL_95 * np.sqrt(np.maximum(model.effect_sigma2 * variance, 0.0))
    low = np.where(directions > 0, np.maximum(free - half, 0.0), free - half)
    high = np.where(directions < 0, np.minimum(free + half, 0.0), free + half)
    return _Contrasts(effect, np.minimum(low, effect), np.maximum(high, effect))


def _effect(
    card: _Card,
    found: _Contrasts,
    place: int,
    *,
    kind: EffectKind,
    name: str,
    label: str,
    sales: int | None,
    priced: bool = True,
) -> CardEffect:
    effect = float(found.effect[place])
    low, high = percent_interval(float(found.low[place]), float(found.high[place]))
    return CardEffect(
        kind=kind,
        name=name,
        label=label,
        percent=percent_effect(effect),
        low_95=low,
        high_95=high,
        price=card.price(effect) if priced else None,
        sales=sales,
    )


def _of_states(card: _Card, number: int) -> list[CardEffect]:
    """Return every state that moves the price; a quiet one of a thing that no sale mentions does not."""
    model = card.model
    term, place = model.design.terms[number], model.design.places[number]
    states = term.states if isinstance(term, FaultTerm) else term
    assert isinstance(states, StateTerm)  # noqa: S101 - the caller looked
    told = [
        (thing * states.width + state)
        for thing in range(len(states.things))
        for state in range(len(states.states))
        if states.tracked[thing] or states.states[state] not in states.quiet
    ]
    rows = np.zeros((len(told), model.design.columns))
    rows[np.arange(len(told)), place.hot + np.array(told, dtype=np.intp)] = 1.0
    found = _contrasts(model, rows, np.full(len(told), -1.0))
    effects = []
    for each, at in enumerate(told):
        thing, state, sales = states.state_at(at)
        label = state_title(states.kind, thing, state, model.device_class)
        kind: EffectKind = states.kind  # type: ignore[assignment]
        effects.append(_effect(card, found, each, kind=kind, name=thing, label=label, sales=sales))
    return effects


def _of_number(card: _Card, number: int) -> list[CardEffect]:
    """Return a number at its lowest, its highest and where nothing is stated, against its median."""
    model, term = card.model, card.model.design.terms[number]
    assert isinstance(term, NumberTerm)  # noqa: S101 - the caller looked
    middle, stated = float(np.exp(term.centre) if term.log else term.centre), None
    silent = None
    if card.sales is not None and term.name in card.sales.condition.numbers:
        values = card.sales.condition.numbers[term.name][~card.sales.refunded]
        known = values[np.isfinite(values)]
        middle, stated, silent = float(np.median(known)), len(known), len(values) - len(known)
    points = [middle, term.low, middle, term.high, *([np.nan] if term.blanks else [])]
    table = card.typical.take(np.zeros(len(points), dtype=np.intp))
    table = replace(table, numbers={**table.numbers, term.name: np.array(points)})
    raw = model.design.rows(table).to_dense()
    sign = {"raises": 1.0, "lowers": -1.0, "free": 0.0}[term.effect]
    steps = np.nan_to_num(np.sign(np.array(points[1:]) - middle))
    trees = model.correction(table)
    found = _contrasts(model, raw[1:] - raw[0], sign * steps, trees[1:] - trees[0])
    words, unit = ("lowest", "median", "highest"), unit_of(model, term.name)
    labels = [f"{value:.10g} {unit}".strip() + f" ({word})" for value, word in zip(points[1:4], words, strict=True)]
    title = title_of(model, term.name)
    prices = model.estimate(model.predict(table))[1:]
    effects = [
        _effect(card, found, each, kind="number", name=term.name, label=f"{title} {label}", sales=stated)
        for each, label in enumerate(labels)
    ]
    if term.blanks:
        label = f"{title} not stated"
        effects.append(_effect(card, found, 3, kind="number", name=term.name, label=label, sales=silent))
    worth = [money_from_float(float(price), currency_of(model)) for price in prices]
    return [effect.model_copy(update={"price": price}) for effect, price in zip(effects, worth, strict=True)]


def _of_levels(card: _Card, number: int) -> list[CardEffect]:
    """Return the commonest levels against the average sale of the levels beside them."""
    model, term = card.model, card.model.design.terms[number]
    assert isinstance(term, LevelTerm)  # noqa: S101 - the caller looked
    first = model.design.places[number].hot - int(term.reference)
    chosen = sorted(range(len(term.levels)), key=lambda level: (-term.sales[level], level))[:MOST_LEVELS]
    rows = np.zeros((len(chosen), model.design.columns))
    for row, level in enumerate(chosen):
        beside = [other for other, path in enumerate(term.levels) if path[:-1] == term.levels[level][:-1]]
        total = sum(term.sales[other] for other in beside)
        for other in beside:
            if not (term.reference and other == 0):
                rows[row, first + other] = float(other == level) - term.sales[other] / total
    found = _contrasts(model, rows, np.zeros(len(chosen)))
    attribute = model.device_class.attributes_by_name.get(term.name)
    kind: EffectKind = "group" if attribute is not None and attribute.kind == "group" else "choice"
    title = title_of(model, term.name)
    return [
        _effect(
            card,
            found,
            row,
            kind=kind,
            name=term.name,
            label=f"{title} {_path(term.levels[level])}",
            sales=term.sales[level],
            priced=False,
        )
        for row, level in enumerate(chosen)
    ]


def _path(level: Sequence[str | None]) -> str:
    return " ".join(word or "not stated" for word in level)


def _of_market(card: _Card, number: int) -> list[CardEffect]:
    """Return what was only asked, what was sold for parts, and a year's drift."""
    model, term, at = card.model, card.model.design.terms[number], card.model.design.places[number].dense
    told: list[tuple[EffectKind, str, int | None, bool]] = []
    if isinstance(term, TimeTerm):
        told.append(("time", "a year later", None, False))
    elif isinstance(term, MarketTerm):
        parts = None
        if card.sales is not None:
            parts = int(np.count_nonzero(sold_for_parts(card.sales.condition) & ~card.sales.refunded))
        told += [("market", "asked instead of paid", model.rows - model.sold_rows, False)] if term.asked else []
        told += [("market", "sold for parts", parts, True)] if term.parts else []
    rows = np.zeros((len(told), model.design.columns))
    rows[np.arange(len(told)), at + np.arange(len(told))] = 1.0
    found = _contrasts(model, rows, np.zeros(len(told)))
    return [
        _effect(card, found, each, kind=kind, name=term.name, label=label, sales=sales, priced=priced)
        for each, (kind, label, sales, priced) in enumerate(told)
    ]
