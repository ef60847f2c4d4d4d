"""Joint draws of what the units of a lot fetch, each draw with states of its own for what nobody tested.

As in ``draws``: draw k has one error B_k of the fitted effects and one effect for each level never seen, for all units,
and a score of its own for each unit. What is new is that the units' states, too, differ from draw to draw, so the rows
of each draw are others. The draws are worked out in blocks, each over the columns that its rows touch.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from pricing.estimation.draws import dense_columns, own_scores, unseen_effects, used_columns
from pricing.estimation.effect_draws import normal_draws
from pricing.hedonic.model import Prediction, PriceModel, money
from pricing.hedonic.pieces import PlaceArray, RawRows
from pricing.records.sales_table import ConditionTable, FloatArray

BLOCK_ROWS = 16_384
_BLOCK_CELLS = 4_000_000


@dataclass(frozen=True, eq=False)
class LotPrices:
    """Joint draws of one lot.

    Attributes:
        price: What each unit fetches in the state drawn, in money, shape (draws, units).
        level: What each unit would fetch in that draw on average over the sampled states and but for its own error,
            in money, shape (draws, units): it differs between draws by the model's error alone.
    """

    price: FloatArray
    level: FloatArray


def draw_lot(
    model: PriceModel,
    described: ConditionTable,
    stated: Callable[[slice], ConditionTable],
    sampled: ConditionTable,
    worth: FloatArray,
    *,
    draws: int,
    seed: int,
) -> LotPrices:
    """Return joint draws of a lot.

    Args:
        model: The fitted model.
        described: The units as the lot's description has them, dated, one row each.
        stated: Some draws -> the units in the states of those draws, dated, all units of a draw after another.
        sampled: The units in sampled states, dated, all units of a sample after another; levels are means over them.
        worth: What a unit brings of its row's price (a missing one nothing), shape (samples, units).
        draws: How many.
        seed: Fixes the draws.
    """
    rng = np.random.default_rng(seed)
    units = described.rows
    size = max(BLOCK_ROWS // units, 1)
    price, level = np.empty((draws, units)), np.empty((draws, units))
    known, samples = model.predict(described), _Samples.of(model, sampled, worth)
    for start in range(0, draws, size):
        part = slice(start, min(start + size, draws))
        price[part], level[part] = _block(model, known, samples, stated(part), part.stop - part.start, rng)
    return LotPrices(price, level)


@dataclass(frozen=True, eq=False)
class _Samples:
    """The units in sampled states as the model reads them."""

    mean: FloatArray
    raw: RawRows
    worth: FloatArray

    @classmethod
    def of(cls, model: PriceModel, sampled: ConditionTable, worth: FloatArray) -> _Samples:
        """Return what the model reads of the sampled rows."""
        found = model.predict(sampled)
        return cls(found.mean, model.design.rows(found.read), worth)

    def level(self, error: FloatArray, unseen: FloatArray, used: PlaceArray) -> FloatArray:
        """Return the mean price of each unit over the samples, shape (draws, units), in blocks of draws."""
        rows = dense_columns(self.raw, used)
        size = max(_BLOCK_CELLS // len(rows), 1)
        found = np.empty_like(unseen)
        for start in range(0, len(error), size):
            part = slice(start, start + size)
            log = (self.mean + error[part] @ rows.T).reshape(-1, *self.worth.shape) + unseen[part, None, :]
            found[part] = (money(log) * self.worth).mean(axis=1)
        return found


def _block(
    model: PriceModel,
    known: Prediction,
    samples: _Samples,
    drawn: ConditionTable,
    draws: int,
    rng: np.random.Generator,
) -> tuple[FloatArray, FloatArray]:
    states = model.predict(drawn)
    raw = model.design.rows(states.read)
    used = np.unique(np.concatenate([used_columns(samples.raw), used_columns(raw)]))
    error = normal_draws(rng, model.effect_sigma2 * model.inverse[np.ix_(used, used)], draws)
    unseen = unseen_effects(model, known, rng, draws)
    own = np.sqrt(model.sigma2 * np.asarray(model.spread.shares(raw))).reshape(unseen.shape)
    rows = dense_columns(raw, used).reshape(*unseen.shape, -1)
    common = np.matmul(rows, error[:, :, None])[:, :, 0] + unseen
    price = money(states.mean.reshape(unseen.shape) + common + own * own_scores(model, rng, unseen.shape))
    return price, samples.level(error, unseen, used)
