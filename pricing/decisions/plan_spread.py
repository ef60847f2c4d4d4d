"""How sure a plan's gain is, from joint draws of the price model.

A draw fixes the common parameters and the unit's own residual, the same for the unit as it is and as it may become.
The luck of repairs is not drawn but weighed exactly: the chance to end in each state is known. Only refunds for parts
dead on arrival enter each end as their mean, and of more than 600 ends the likeliest count.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from pricing.decisions.plan_solve import NetOf, Policy, Solver, exit_net
from pricing.decisions.plan_states import Goods, PlaceArray
from pricing.records.money import money_from_float
from pricing.records.plan import Spread
from pricing.records.sales_table import FloatArray

LEVEL = 80
_MOST_CELLS = 4_000_000
_FEWEST_DRAWS = 100
_UNLIKELY = 1e-9
_MOST_ENDS = 600
_CENT = 0.005
DrawGoods = Callable[[Sequence[Goods]], FloatArray]


def plan_spread(solver: Solver, policy: Policy, net_of: NetOf, draw: DrawGoods) -> Spread:
    """Return intervals of the gain and the chance to end worse than the best end now.

    Args:
        solver: The problem.
        policy: Its best plan.
        net_of: Net proceeds of prices, elementwise.
        draw: Joint draws of the price of goods, shape (draws, goods).
    """
    graph = solver.graph
    reached = solver.reached(policy)
    ends = np.flatnonzero((policy.choice < 0) & (reached > _UNLIKELY))
    last = ends[np.argsort(-reached[ends], kind="stable")][:_MOST_ENDS]
    weights = reached[last] / reached[last].sum()
    states = np.concatenate([[0], last]).astype(np.intp)
    needed, place = np.unique(graph.goods_of_state[states], return_inverse=True)
    prices = draw([graph.goods[int(number)] for number in needed])
    prices = prices[: max(_FEWEST_DRAWS, _MOST_CELLS // len(states))]
    choice = np.concatenate([[-1 - int(np.argmax(solver.ends.nets[:, 0]))], policy.choice[last]])
    nets = _nets(solver, states, choice, prices[:, np.asarray(place).ravel()], net_of)
    gains = nets[:, 1:] + solver.refunded(policy)[last] - nets[:, [0]]
    expected = np.quantile(gains @ weights, _tails())
    single = _weighted_quantiles(gains, weights)
    currency = graph.layout.problem.currency
    return Spread(
        level=LEVEL,
        gain_low=money_from_float(float(expected[0]), currency),
        gain_high=money_from_float(float(expected[1]), currency),
        result_low=money_from_float(float(single[0]), currency),
        result_high=money_from_float(float(single[1]), currency),
        worse=float(((gains < -_CENT) @ weights).mean()),
        draws=len(prices),
    )


def _nets(solver: Solver, states: PlaceArray, choice: FloatArray, prices: FloatArray, net_of: NetOf) -> FloatArray:
    """Return what ending so in each state brings in each draw, shape (draws, states)."""
    graph = solver.graph
    later = prices * (1 - graph.layout.problem.daily_fall) ** graph.days[states]
    nets = net_of(later)
    for column, (state, chosen) in enumerate(zip(states, choice, strict=True)):
        way = solver.ends.exits[-1 - int(chosen)]
        if way is not None:
            nets[:, column] = exit_net(way, graph.goods[int(graph.goods_of_state[state])])
    return np.asarray(nets - graph.spent[states])


def _tails() -> list[float]:
    return [0.5 - LEVEL / 200, 0.5 + LEVEL / 200]


def _weighted_quantiles(values: FloatArray, weights: FloatArray) -> list[float]:
    """Return the least values below or at which each tail's share of the weight lies."""
    flat, shares = values.ravel(), np.tile(weights / len(values), len(values))
    order = np.argsort(flat)
    below = np.cumsum(shares[order])
    places = np.minimum(np.searchsorted(below, _tails()), len(flat) - 1)
    return [float(flat[order[place]]) for place in places]
