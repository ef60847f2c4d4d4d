"""What may be wrong with the units of a lot, drawn from rates: beliefs first, then the shop's own history.

A rate is not known, so each draw of the lot has its own: shares ~ Dirichlet(weight * believed shares + counts found).
All units of the lot share it: a bad lot is bad throughout. Then each unit is as named, missing, swapped or locked,
and each function that nobody tested works, is impaired or dead.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pricing.errors import BadInput, Problem
from pricing.records.lot_rates import FaultCounts, FaultShares, LotHistory, LotRates
from pricing.records.sales_table import BoolArray, FloatArray

StateArray = NDArray[np.int8]
AS_NAMED, MISSING, SWAPPED, LOCKED = range(4)
STATUSES = ("works", "impaired", "dead")


@dataclass(frozen=True, eq=False)
class UnknownFunction:
    """A function of the class, and on which units of the lot nobody knows its status.

    Attributes:
        name: Its name.
        gate: Whether others cannot be tested without it.
        unknown: shape (units,).
    """

    name: str
    gate: bool
    unknown: BoolArray


@dataclass(frozen=True, eq=False)
class LotStates:
    """Drawn states of all units.

    Attributes:
        unit: shape (draws, units): as named 0, missing 1, swapped 2, locked 3.
        functions: Function -> shape (draws, units): place in ``STATUSES``, -1 where it is known already.
        shares: The rates that each draw was made with.
    """

    unit: StateArray
    functions: Mapping[str, StateArray]
    shares: LotShares


@dataclass(frozen=True, eq=False)
class LotShares:
    """Shares of units and statuses; one row: what is expected, several: as drawn.

    Attributes:
        unit: shape (rows, 4): as named, missing, swapped, locked.
        functions: Function -> shape (rows, 3): works, impaired, dead.
    """

    unit: FloatArray
    functions: Mapping[str, FloatArray]


def draw_states(
    rates: LotRates,
    history: LotHistory,
    functions: tuple[UnknownFunction, ...],
    *,
    units: int,
    draws: int,
    seed: int,
) -> LotStates:
    """Return drawn states of the units of a lot.

    Raises:
        BadInput: The lot has no unit.
    """
    if units < 1:
        problem = Problem("lot", None, "units", f"{units} units", "at least 1")
        raise BadInput(str(problem), (problem,))
    rng = np.random.default_rng(seed)
    weights = _weights(rates, history, functions)
    shares = LotShares(
        _drawn_shares(rng, weights.unit, draws),
        {name: _drawn_shares(rng, weight, draws) for name, weight in weights.functions.items()},
    )
    return _states(rng, shares, functions, units)


def draw_usual_states(
    expected: LotShares, functions: tuple[UnknownFunction, ...], *, units: int, samples: int, seed: int
) -> LotStates:
    """Return states of the units of a lot whose rates are just those that are expected.

    Args:
        expected: Of ``expected_shares``.
        functions: As for ``draw_states``.
        units: How many.
        samples: How many times.
        seed: Fixes the samples.
    """
    shares = LotShares(
        np.repeat(expected.unit, samples, axis=0),
        {name: np.repeat(share, samples, axis=0) for name, share in expected.functions.items()},
    )
    return _states(np.random.default_rng(seed), shares, functions, units)


def expected_shares(
    rates: LotRates, history: LotHistory, functions: tuple[UnknownFunction, ...]
) -> LotShares:
    """Return the means of the shares that ``draw_states`` draws, in one row."""
    weights = _weights(rates, history, functions)
    return LotShares(
        _means(weights.unit), {name: _means(weight) for name, weight in weights.functions.items()}
    )


def believed_units(rates: LotRates) -> FloatArray:
    """Return the believed shares of units as named, missing, swapped and locked."""
    wrong = np.array([rates.missing, rates.swapped, rates.locked])
    return np.append(max(1 - wrong.sum(), 0.0), wrong)


def believed_statuses(rates: LotRates, function: UnknownFunction) -> FloatArray:
    """Return the believed shares of the statuses of a function that nobody tested."""
    usual: FaultShares = rates.gates if function.gate else rates.functions
    stated = rates.own.get(function.name, usual)
    return np.array([max(1 - stated.impaired - stated.dead, 0.0), stated.impaired, stated.dead])


def _counted_units(history: LotHistory) -> FloatArray:
    wrong = np.array([history.missing, history.swapped, history.locked], dtype=np.float64)
    return np.append(history.units - wrong.sum(), wrong)


def _weights(rates: LotRates, history: LotHistory, functions: tuple[UnknownFunction, ...]) -> LotShares:
    """Return the Dirichlet weight of each kind: beliefs in units of history, and what was counted."""
    told = {}
    for function in functions:
        found = history.functions.get(function.name, FaultCounts())
        counts = np.array([found.works, found.impaired, found.dead], dtype=np.float64)
        told[function.name] = rates.weight * believed_statuses(rates, function) + counts
    return LotShares(rates.weight * believed_units(rates) + _counted_units(history), told)


def _means(weights: FloatArray) -> FloatArray:
    return np.asarray(weights / weights.sum())[None, :]


def _drawn_shares(rng: np.random.Generator, weights: FloatArray, draws: int) -> FloatArray:
    """Return drawn shares, shape (draws, kinds)."""
    # Of a kind believed impossible and never found, the gamma variate is 0, and so is the share.
    parts = rng.standard_gamma(weights, (draws, len(weights)))
    return np.asarray(parts / parts.sum(axis=1, keepdims=True))


def _states(
    rng: np.random.Generator, shares: LotShares, functions: tuple[UnknownFunction, ...], units: int
) -> LotStates:
    drawn = {
        function.name: np.where(
            function.unknown, _pick(rng, shares.functions[function.name], units), np.int8(-1)
        ).astype(np.int8)
        for function in functions
    }
    return LotStates(_pick(rng, shares.unit, units), drawn, shares)


def _pick(rng: np.random.Generator, shares: FloatArray, units: int) -> StateArray:
    """Return the kind of each unit, shape (draws, units)."""
    below = np.cumsum(shares, axis=1)[:, None, :-1]
    return np.asarray((rng.random((len(shares), units, 1)) > below).sum(axis=2), dtype=np.int8)
