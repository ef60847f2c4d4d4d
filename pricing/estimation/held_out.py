"""How good a model's estimates and intervals were for sales that were held out of its effects.

Sale i is left out in closed form: with h_i = x_i'V x_i / a_i and the residual r_i on ln(price), the estimate without
it is off by r_i / (1 - h_i), and r_i / (s sqrt(a_i (1 - h_i))) is what the interval's multiples are compared with.
The variances, the spread and the multiples themselves still know the sale, so over all sales together the coverage
is near its level by construction. What can go wrong, and is shown, is its share within each part of the sales.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pricing.estimation.estimate import THIN, currency_of
from pricing.hedonic.model import PriceModel, money
from pricing.records.estimate import LEVELS
from pricing.records.model_card import CoverageRow, ErrorSize
from pricing.records.money import money_from_float
from pricing.records.sales_table import BoolArray, FloatArray, SalesTable

MOST_HELD_OUT = 20_000
_LEAST_LEFT = 1e-6
_MOST_LOG = 50.0  # a sale that alone decides its own effect leaves an error without bound


@dataclass(frozen=True, eq=False)
class HeldOut:
    """Sales held out one by one, of the prices paid (of all, when every price was only asked).

    Attributes:
        price: shape (rows,), as paid, in the model's currency.
        estimate: shape (rows,), money: the estimate without the sale.
        mean: shape (rows,): the fitted mean without the sale, on ln(price), centred.
        scores: shape (rows,): error without the sale over its standard deviation, on ln(price).
        others: shape (rows,): other sales of the rarest level that the sale belongs to; infinite without groups.
    """

    price: FloatArray
    estimate: FloatArray
    mean: FloatArray
    scores: FloatArray
    others: FloatArray


def hold_out(model: PriceModel, sales: SalesTable) -> HeldOut:
    """Hold out the sales that the model was fitted to, at most 20,000 evenly spaced ones of them."""
    paid = ~sales.refunded & (~sales.asked | model.of_asking_price)
    rows = np.flatnonzero(paid)
    if len(rows) > MOST_HELD_OUT:
        rows = rows[np.linspace(0, len(rows) - 1, MOST_HELD_OUT).astype(np.intp)]
    chosen = sales.take(rows)
    error, scores = np.empty(chosen.rows), np.empty(chosen.rows)
    price_log = np.log(chosen.price)
    for part, raw in model.design.chunks(chosen.condition, chosen.asked):
        residual = price_log[part] - model.centre - raw.times(model.effects)
        share = model.spread.shares(raw)
        left = np.clip(1 - raw.quadratic(model.inverse) / share, _LEAST_LEFT, 1.0)
        error[part] = np.clip(residual / left, -_MOST_LOG, _MOST_LOG)
        scores[part] = residual / np.sqrt(model.sigma2 * share * left)
    fewest, _ = model.fewest_sales(chosen.condition)
    others = np.maximum(fewest - 1, 0.0)
    mean = price_log - error
    return HeldOut(chosen.price, money(mean + model.shift), mean - model.centre, scores, others)


def error_size(held: HeldOut) -> ErrorSize:
    """Return how far the estimates were off."""
    off = 100 * np.abs(held.estimate / held.price - 1)
    low, high = np.quantile(100 * (held.price / held.estimate - 1), (0.1, 0.9))
    return ErrorSize(sales=len(off), median=float(np.median(off)), low_80=float(low), high_80=float(high))


def coverage_rows(model: PriceModel, held: HeldOut) -> tuple[CoverageRow, ...]:
    """Return the coverage of all held-out sales, by support and by thirds of the estimate."""
    rows = [_row(model, held, "all", np.ones(len(held.price), dtype=np.bool_))]
    unseen, thin = held.others == 0, (held.others >= 1) & (held.others <= THIN)
    for label, chosen in (("seen", ~unseen & ~thin), ("thin", thin), ("unseen", unseen)):
        if chosen.any():
            rows.append(_row(model, held, label, chosen))
    first, second = np.quantile(held.estimate, (1 / 3, 2 / 3))
    lower, upper = _told(float(first), model), _told(float(second), model)
    middle = (held.estimate > first) & (held.estimate <= second)
    thirds = {
        f"estimates up to {lower}": held.estimate <= first,
        f"estimates up to {upper}": middle,
        f"estimates above {upper}": held.estimate > second,
    }
    return (*rows, *(_row(model, held, label, chosen) for label, chosen in thirds.items() if chosen.any()))


def _row(model: PriceModel, held: HeldOut, label: str, chosen: BoolArray) -> CoverageRow:
    scores, within = held.scores[chosen], {}
    for level in LEVELS:
        low, high = _multiples(model, level, held.mean[chosen])
        within[level] = 100 * float(np.mean((scores >= low) & (scores <= high)))
    return CoverageRow(label=label, sales=len(scores), within=within)


def _multiples(model: PriceModel, level: int, mean: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the interval's multiples of the standard deviation for fitted means, shape (rows,) each."""
    number = LEVELS.index(level)
    low, high = model.calibration.low[number], model.calibration.high[number]
    return np.full(len(mean), low), np.full(len(mean), high)


def _told(amount: float, model: PriceModel) -> str:
    told = money_from_float(amount, currency_of(model))
    return f"{told.amount:,f} {model.currency}".strip()
