"""Joint draws of the prices that several units, or one unit in several states, may fetch.

For units with raw rows r_i, draw k is::

    ln(price_ik) = m_i + r_i' B_k + sum of U_k[level never seen] + e_gk sqrt(s2 a_i)

with B_k the error of the fitted effects, one for all units of a draw, which keeps their bounds (``effect_draws``); U a
common effect for each level that the model has never seen, the same for all units of that level; and e_gk the own error
of the thing behind the rows of group g: the same score for every state of one unit. Scores are the held-out ones of the
calibration, so that their tails are those that were observed; they were divided by the whole deviation, and are used
for the own part alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np

from pricing.estimation.effect_draws import EffectDraws
from pricing.estimation.estimate import check_class
from pricing.hedonic.level_term import LevelTerm
from pricing.hedonic.model import Prediction, PriceModel, money
from pricing.hedonic.pieces import PlaceArray, RawRows
from pricing.records.sales_table import ConditionTable, FloatArray
from pricing.records.unit import Unit
from pricing.records.unit_columns import columns_of_units

DRAWS = 1000


def draw_units(
    model: PriceModel,
    units: Sequence[Unit],
    *,
    seed: int,
    groups: Sequence[int] | None = None,
    on: date | None = None,
    draws: int = DRAWS,
) -> FloatArray:
    """Return joint draws of the prices of units, in money, shape (draws, units).

    Args:
        model: The fitted model.
        units: Units of its class.
        seed: Fixes the draws.
        groups: Number of the thing behind each unit; states of one unit share a number. None: each its own.
        on: The day; None: the model's own.
        draws: How many.

    Raises:
        BadInput: A unit does not fit the model's class.
    """
    for unit in units:
        check_class(model, unit)
    table = model.dated(columns_of_units(units, model.device_class), on)
    chosen = np.arange(len(units)) if groups is None else np.asarray(groups)
    return draw_rows(model, table, chosen, seed=seed, draws=draws)


def draw_rows(
    model: PriceModel, table: ConditionTable, groups: np.ndarray, *, seed: int, draws: int = DRAWS
) -> FloatArray:
    """Return joint draws of the prices of a dated table's rows, in money, shape (draws, rows).

    Args:
        model: The fitted model.
        table: The units, dated.
        groups: shape (rows,): rows of the same number share their own error.
        seed: Fixes the draws.
        draws: How many.
    """
    rng = np.random.default_rng(seed)
    prediction = model.predict(table)
    raw = model.design.rows(prediction.read)
    used = used_columns(raw)
    common = EffectDraws(model).errors(used, rng, draws) @ dense_columns(raw, used).T
    own = np.sqrt(model.sigma2 * np.asarray(model.spread.shares(raw), dtype=np.float64))
    names, place = np.unique(groups, return_inverse=True)
    scores = own_scores(model, rng, (draws, len(names)))[:, np.asarray(place).ravel()]
    log_price = prediction.mean + common + unseen_effects(model, prediction, rng, draws) + scores * own
    return money(log_price)


def own_scores(model: PriceModel, rng: np.random.Generator, shape: tuple[int, int]) -> FloatArray:
    """Return own errors in standard deviations: held-out scores, or Student t where there are none."""
    scores = model.calibration.scores
    if len(scores) < 2:
        return np.asarray(rng.standard_t(max(model.calibration.freedom, 1.0), shape))
    return np.asarray(rng.choice(scores, shape))


def unseen_effects(model: PriceModel, prediction: Prediction, rng: np.random.Generator, draws: int) -> FloatArray:
    """Return the effects of what the model has never seen, shape (draws, rows).

    Rows that share a level share its effect; the time beyond the last sale is shared by all rows. A factor with few
    levels has Student t tails, as in its intervals.
    """
    rows = len(prediction.mean)
    total = np.zeros((draws, rows))
    for term, place in zip(model.design.terms, model.design.places, strict=True):
        if not term.unseen_depths or not prediction.unseen[:, place.depth].any():
            continue
        words = levels_of(term, prediction.read) if isinstance(term, LevelTerm) else [()] * rows
        index = {word: number for number, word in enumerate(dict.fromkeys(words))}
        freedom = float(model.depth_freedom[place.depth])
        shape = (draws, len(index))
        effect = rng.standard_t(freedom, shape) if np.isfinite(freedom) else rng.standard_normal(shape)
        total += effect[:, [index[word] for word in words]] * np.sqrt(prediction.unseen[:, place.depth])
    return total


def levels_of(term: LevelTerm, table: ConditionTable) -> list[tuple[str | None, ...]]:
    """Return each row's words of a term's levels, the outermost first."""
    columns = [table.texts.get(name) for name in term.path]
    return [tuple(column.word(row) if column else None for column in columns) for row in range(table.rows)]


def used_columns(raw: RawRows) -> PlaceArray:
    """Return the numbers of the raw columns that some row touches, all dense ones among them."""
    split = raw.dense.shape[1]
    return np.concatenate([np.arange(split), split + np.unique(raw.hot.indices)])


def dense_columns(raw: RawRows, used: PlaceArray) -> FloatArray:
    """Return the columns ``used``, the dense ones among them first, shape (rows, used)."""
    split = raw.dense.shape[1]
    return np.hstack([raw.dense, raw.hot[:, used[split:] - split].toarray()])
