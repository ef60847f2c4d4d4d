"""Joint draws of what the units of a lot fetch, each draw with states of its own for what nobody tested.

As in ``draws``: draw k has one error B_k of the fitted effects and one effect for each level never seen, for all units,
and a score of its own for each unit. What is new is that the units' states, too, differ from draw to draw, so the rows
of each draw are others. The draws are worked out in blocks, each over the columns that its rows touch.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from pricing.estimation.draws import normal_draws, own_scores, unseen_effects
from pricing.hedonic.model import PriceModel, money
from pricing.hedonic.pieces import PlaceArray, RawRows
from pricing.records.sales_table import ConditionTable, FloatArray

BLOCK_ROWS = 16_384


@dataclass(frozen=True, eq=False)
class LotPrices:
    """Joint draws of one lot.

    Attributes:
        price: What each unit fetches in the state drawn, in money, shape (draws, units).
        level: What the units as described would fetch together in that draw but for their own errors, shape (draws,):
            the draw's part of the model's error.
    """

    price: FloatArray
    level: FloatArray


def draw_lot(
    model: PriceModel,
    described: ConditionTable,
    stated: Callable[[slice], ConditionTable],
    *,
    draws: int,
    seed: int,
) -> LotPrices:
    """Return joint draws of a lot.

    Args:
        model: The fitted model.
        described: The units as the lot's description has them, dated, one row each.
        stated: Some draws -> the units in the states of those draws, dated, all units of a draw after another.
        draws: How many.
        seed: Fixes the draws.
    """
    rng = np.random.default_rng(seed)
    units = described.rows
    size = max(BLOCK_ROWS // units, 1)
    price, level = np.empty((draws, units)), np.empty(draws)
    for start in range(0, draws, size):
        part = slice(start, min(start + size, draws))
        price[part], level[part] = _block(model, described, stated(part), part.stop - part.start, rng)
    return LotPrices(price, level)


def _block(
    model: PriceModel, described: ConditionTable, drawn: ConditionTable, draws: int, rng: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    units = described.rows
    alone, states = model.predict(described), model.predict(drawn)
    alone_raw, raw = model.design.rows(alone.read), model.design.rows(states.read)
    used = np.unique(np.concatenate([_used(alone_raw), _used(raw)]))
    error = normal_draws(rng, model.effect_sigma2 * model.inverse[np.ix_(used, used)], draws)
    unseen = unseen_effects(model, alone, rng, draws)
    own = np.sqrt(model.sigma2 * np.asarray(model.spread.shares(raw))).reshape(draws, units)
    rows = _dense(raw, used).reshape(draws, units, -1)
    common = np.matmul(rows, error[:, :, None])[:, :, 0] + unseen
    mean = states.mean.reshape(draws, units)
    price = money(mean + common + own * own_scores(model, rng, (draws, units)))
    as_described = money(alone.mean + error @ _dense(alone_raw, used).T + unseen)
    return price, as_described.sum(axis=1)


def _used(raw: RawRows) -> PlaceArray:
    """Return the numbers of the raw columns that some row touches."""
    split = raw.dense.shape[1]
    return np.concatenate([np.arange(split), split + np.unique(raw.hot.indices)])


def _dense(raw: RawRows, used: PlaceArray) -> FloatArray:
    """Return the columns ``used``, the dense ones among them first, shape (rows, used)."""
    split = raw.dense.shape[1]
    return np.hstack([raw.dense, raw.hot[:, used[split:] - split].toarray()])
