"""What a lot is worth but for luck, in each draw: the judgement in which bidders differ.

Nobody knows the error of the model's effects, nor the true rates at which units of this lot are faulty; a bidder judges
both, and the one who judges too high wins. What single units turn out to be is luck. So the level of a draw is the
expected worth of the lot given its error B_k and its rates p_k::

    level_k = g_k sum over units u of E[price_u | B_k, expected rates] * product over its open functions f of h_f(p_k)

with h_f(p) = sum over statuses s of p_fs r_fs, relative to the same at the expected rates; r_fs is what a unit fetches
with the function in status s, over what it fetches with it working; and g_k the same for missing, swapped and locked
units. The ratios are taken at the fitted effects: how rates and effects err together is of second order.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from api.shop.lot_states import with_states
from pricing.decisions.lot_rates import (
    LOCKED,
    MISSING,
    STATUSES,
    SWAPPED,
    LotShares,
    LotStates,
    UnknownFunction,
    draw_usual_states,
)
from pricing.hedonic.model import PriceModel, money
from pricing.records.sales_table import ConditionTable, FloatArray

_SAMPLED_ROWS, _FEWEST_SAMPLES, _MOST_SAMPLES = 2000, 4, 200
_COMPARED_ROWS = 64


@dataclass(frozen=True, eq=False)
class UsualStates:
    """The units of a lot in states drawn at the expected rates, and what each is worth of the unit in that state."""

    states: LotStates
    table: ConditionTable
    worth: FloatArray


def usual_states(
    model: PriceModel,
    described: ConditionTable,
    functions: tuple[UnknownFunction, ...],
    expected: LotShares,
    *,
    swapped_worth: float,
    seed: int,
) -> UsualStates:
    """Return the units in states drawn at the expected rates, all units of a sample after another."""
    samples = int(np.clip(_SAMPLED_ROWS // described.rows, _FEWEST_SAMPLES, _MOST_SAMPLES))
    states = draw_usual_states(expected, functions, units=described.rows, samples=samples, seed=seed)
    worth = np.where(states.unit == MISSING, 0.0, np.where(states.unit == SWAPPED, swapped_worth, 1.0))
    return UsualStates(states, with_states(model.device_class, described, states), worth)


def lot_levels(
    model: PriceModel,
    described: ConditionTable,
    functions: tuple[UnknownFunction, ...],
    *,
    usual: UsualStates,
    by_error: FloatArray,
    drawn: LotShares,
    expected: LotShares,
    swapped_worth: float,
) -> FloatArray:
    """Return the level of each draw, in money, shape (draws,).

    Args:
        model: The fitted model.
        described: The units as the description has them, dated.
        functions: Those whose status it leaves open.
        usual: The units in states drawn at the expected rates.
        by_error: What each unit is worth given the error of each draw, shape (draws, units).
        drawn: The rates of each draw.
        expected: The rates that are expected.
        swapped_worth: What a swapped unit is worth of the one named.
    """
    ratios, locked = _ratios(model, described, usual.states, functions)
    kinds = np.array([1.0, 0.0, swapped_worth, locked])
    factor_log = np.zeros_like(by_error)
    for function, ratio in zip(functions, ratios, strict=True):
        relative = drawn.functions[function.name] @ ratio / (expected.functions[function.name] @ ratio)
        factor_log += np.log(relative)[:, None] * function.unknown
    return np.asarray((by_error * np.exp(factor_log)).sum(axis=1) * (drawn.unit @ kinds) / (expected.unit @ kinds))


def _ratios(
    model: PriceModel, described: ConditionTable, states: LotStates, functions: Sequence[UnknownFunction]
) -> tuple[FloatArray, float]:
    """Return what units fetch with a function in each status over what they fetch with it working, all else as sampled.

    shape (functions, 3); and what locked units fetch over those that are as named.
    """
    units = np.arange(min(described.rows, _COMPARED_ROWS))
    samples = max(_COMPARED_ROWS // len(units), 1)
    some = {name: drawn[:samples, units] for name, drawn in states.functions.items()}
    named = np.zeros((samples, len(units)), dtype=np.int8)
    cases = [(named, some), (np.full_like(named, LOCKED), some)]
    for function in functions:
        cases += [(named, {**some, function.name: np.full_like(named, status)}) for status in range(len(STATUSES))]
    together = LotStates(
        np.concatenate([kind for kind, _ in cases]),
        {name: np.concatenate([case[name] for _, case in cases]) for name in some},
        states.shares,
    )
    told = with_states(model.device_class, described.take(units), together)
    price = money(model.predict(told).mean).reshape(len(cases), -1).mean(axis=1)
    by_status = price[2:].reshape(len(functions), len(STATUSES))
    return by_status / by_status[:, :1], float(price[1] / price[0])
