"""Why an estimate is what it is: money from the class's typical unit to this one, and the sales nearest to it.

The walk starts at the reference unit (average numbers, commonest words, everything working and unmarked, the same
day) and changes one term after the other in the design's order. Each step is the difference of two amounts that
are rounded already, so reference plus steps is the estimate to the last minor unit.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from pricing.errors import Abstained
from pricing.estimation.estimate import check_class, currency_of, estimate_rows
from pricing.estimation.reasons import day_of, state_title
from pricing.hedonic.fault_term import FaultTerm
from pricing.hedonic.interaction_term import ProductTerm, SlopeTerm
from pricing.hedonic.level_term import LevelTerm
from pricing.hedonic.market_term import MarketTerm
from pricing.hedonic.model import PriceModel, money
from pricing.hedonic.number_term import NumberTerm
from pricing.hedonic.state_term import StateTerm
from pricing.records.estimate import Contribution, Explanation, NearestSale
from pricing.records.money import Money, money_from_float
from pricing.records.sales_table import ConditionTable, FloatArray, SalesTable, TextColumn
from pricing.records.unit import Unit
from pricing.records.unit_columns import columns_of_units

NEAREST = 5
MOST_DIFFERENCES = 4
_SEEN_LOG = 0.005
Step = tuple[str, str, list[int]]


def explain(
    model: PriceModel, unit: Unit, *, sales: SalesTable | None = None, on: date | None = None
) -> Explanation:
    """Explain the estimate of one unit.

    Args:
        model: The fitted model.
        unit: A unit of its class.
        sales: Where to look for the nearest sales; None: none are given.
        on: The day; None: the model's own.

    Raises:
        BadInput: The unit does not fit its class.
        Abstained: The model declines to price it.
    """
    check_class(model, unit)
    table = model.dated(columns_of_units((unit,), model.device_class), on)
    estimate = estimate_rows(model, table)[0]
    if estimate.abstained is not None:
        raise Abstained(estimate.abstained)
    read = model.predict(table).read
    typical = reference_table(model, table)
    both = np.vstack([model.design.rows(typical).to_dense(), model.design.rows(read).to_dense()])
    typical_trees, own_trees = float(model.correction(typical)[0]), float(model.correction(read)[0])
    current, steps = both[0].copy(), []
    before = _amount(model, current, typical_trees)
    reference = before
    for name, value, columns in _steps(model, table, read):
        current[columns] = both[1][columns]
        after = _amount(model, current, typical_trees)
        if after != before or value:
            steps.append(Contribution(name=name, value=value, money=_signed(after.amount - before.amount, model)))
        before = after
    if any(model.structure.trees_weights):
        after = _amount(model, current, own_trees)
        steps.append(Contribution(name="trees", value="", money=_signed(after.amount - before.amount, model)))
        before = after
    return Explanation(
        reference=reference,
        contributions=tuple(steps),
        estimate=before,
        nearest=() if sales is None else nearest_sales(model, read, sales),
    )


def _amount(model: PriceModel, row: FloatArray, trees: float) -> Money:
    log = np.array([model.centre + model.shift + float(row @ model.effects) + trees])
    return money_from_float(float(money(log)[0]), currency_of(model))


def _signed(amount: Decimal, model: PriceModel) -> Money:
    return Money(amount=amount, currency=currency_of(model))


def reference_table(model: PriceModel, table: ConditionTable) -> ConditionTable:
    """Return the typical unit of the class, dated like the table's only row."""
    numbers, texts = {}, {}
    for term in model.design.terms:
        if isinstance(term, NumberTerm):
            middle = np.exp(term.centre) if term.log else term.centre
            numbers[term.name] = np.array([middle])
        elif isinstance(term, LevelTerm):
            commonest = term.levels[int(np.argmax(term.sales))]
            texts[term.name] = TextColumn.from_words([commonest[-1]])
    for term in model.design.terms:
        # The typical model is the commonest one of the typical brand, so that both hang together.
        if isinstance(term, LevelTerm) and len(term.path) > 1:
            outer = tuple(texts[name].word(0) if name in texts else None for name in term.path[:-1])
            inside = [n for n, level in enumerate(term.levels) if level[:-1] == outer] or range(len(term.levels))
            commonest = term.levels[max(inside, key=lambda number: term.sales[number])]
            texts[term.name] = TextColumn.from_words([commonest[-1]])
    works = TextColumn(np.zeros(1, dtype=np.int32), ("works",))
    clean = TextColumn(np.zeros(1, dtype=np.int32), ("none",))
    free = TextColumn(np.zeros(1, dtype=np.int32), ("free",))
    original = TextColumn(np.zeros(1, dtype=np.int32), ("original",))
    described = model.device_class
    return ConditionTable(
        rows=1,
        numbers=numbers,
        texts=texts,
        faults={function.name: works for function in described.functions},
        marks={surface.name: clean for surface in described.surfaces},
        locks={lock.name: free for lock in described.locks},
        parts={part.name: original for part in described.parts},
        sold_on=table.sold_on,
    )


def _steps(model: PriceModel, table: ConditionTable, read: ConditionTable) -> Iterator[Step]:
    """Yield name, value in words and raw columns of each step; faults, marks and the like one by one."""
    design = model.design
    for number, term in enumerate(design.terms):
        columns = design.term_columns(number)
        if isinstance(term, FaultTerm | StateTerm):
            states = term.states if isinstance(term, FaultTerm) else term
            hot = columns[term.dense_columns :]
            places = [int(each) for each in term.piece(read).places[0] if each >= 0]
            for each in sorted(places):
                thing, state, _ = states.state_at(each)
                if isinstance(term, FaultTerm):  # a gate may be read as failing
                    column = table.faults.get(thing)
                    state = (column.word(0) if column is not None else None) or "not stated"
                title = state if state == "not stated" else state_title(states.kind, thing, state, model.device_class)
                yield f"{states.kind}:{thing}", title, [hot[each]]
            yield f"several {states.kind}", "", columns
        elif isinstance(term, NumberTerm | LevelTerm):
            yield term.name, "" if " × " in term.name else _word(table, term), columns
        elif isinstance(term, ProductTerm | SlopeTerm):
            yield term.name, "", columns
        elif isinstance(term, MarketTerm):
            yield "sold for parts", "", columns
        else:
            yield "time", str(day_of(table, 0) or ""), columns
    yield "rest", "", list(range(design.columns))


def _word(table: ConditionTable, term: NumberTerm | LevelTerm) -> str:
    if isinstance(term, NumberTerm):
        values = table.numbers.get(term.name)
        return "not stated" if values is None else _shown(float(values[0]))
    column = table.texts.get(term.name)
    return (column.word(0) if column is not None else None) or "not stated"


def nearest_sales(
    model: PriceModel, read: ConditionTable, sales: SalesTable, count: int = NEAREST
) -> tuple[NearestSale, ...]:
    """Return the paid sales nearest to a unit: those whose terms add up to the least difference in ln(price)."""
    paid = sales.take(np.flatnonzero(~sales.asked & ~sales.refunded))
    own = _by_term(model, read)
    distance = np.empty(paid.rows)
    for start in range(0, paid.rows, 20_000):
        rows = np.arange(start, min(start + 20_000, paid.rows))
        distance[rows] = np.abs(_by_term(model, paid.condition.take(rows)) - own).sum(axis=1)
    chosen = np.argsort(distance, kind="stable")[:count]
    return tuple(_nearest(model, read, paid, own, int(row)) for row in chosen)


def _nearest(
    model: PriceModel, read: ConditionTable, paid: SalesTable, own: FloatArray, row: int
) -> NearestSale:
    condition = paid.condition.take(np.array([row]))
    gaps = np.abs(_by_term(model, condition) - own)[0]
    names = [*(term.name for term in model.design.terms), "trees"]
    differs = [_difference(names[number], read, condition) for number in np.argsort(-gaps) if gaps[number] > _SEEN_LOG]
    return NearestSale(
        price=money_from_float(float(paid.price[row]), currency_of(model)),
        sold_on=day_of(condition, 0),
        line=None if paid.line is None else int(paid.line[row]),
        differs=tuple(differs[:MOST_DIFFERENCES]),
    )


def _difference(name: str, read: ConditionTable, other: ConditionTable) -> str:
    if name in read.numbers and name in other.numbers:
        return f"{name} {_shown(other.numbers[name][0])} instead of {_shown(read.numbers[name][0])}"
    if name in read.texts and name in other.texts:
        there, here = other.texts[name].word(0), read.texts[name].word(0)
        return f"{name} {there or 'not stated'} instead of {here or 'not stated'}"
    return f"other {name}"


def _shown(number: float) -> str:
    return "not stated" if np.isnan(number) else f"{number:g}"


def _by_term(model: PriceModel, table: ConditionTable) -> FloatArray:
    """Return each term's part of ln(price), shape (rows, terms)."""
    raw = model.design.rows(table)
    parts: list[NDArray[np.float64]] = []
    for number in range(len(model.design.terms)):
        chosen = np.zeros(model.design.columns)
        columns = model.design.term_columns(number)
        chosen[columns] = model.effects[columns]
        parts.append(raw.times(chosen))
    parts.append(model.correction(table))
    return np.column_stack(parts)
