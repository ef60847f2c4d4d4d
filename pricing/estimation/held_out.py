"""How good a model's estimates and intervals were for sales that were held out of its effects.

The model keeps at most 2,001 of those sales. Each was left out of the effects, and of the trees, that it is compared
with. The quantiles behind the intervals still know it, so over all sales together the coverage is near its level by
construction. What can go wrong, and is shown, is its share within each part of the sales.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pricing.estimation.estimate import currency_of
from pricing.hedonic.model import THIN, PriceModel, money, support_of
from pricing.records.estimate import LEVELS
from pricing.records.model_card import CoverageRow, ErrorSize
from pricing.records.money import money_from_float
from pricing.records.sales_table import BoolArray, FloatArray


@dataclass(frozen=True, eq=False)
class HeldOutPrices:
    """Sales held out, of the prices paid (of all, when every price was only asked).

    Attributes:
        price: shape (rows,), as paid, in the model's currency.
        estimate: shape (rows,), money: the estimate without the sale.
        mean: shape (rows,): what was said without the sale, on ln(price), less the model's centre.
        scores: shape (rows,): error without the sale over its standard deviation, on ln(price).
        others: shape (rows,): other sales of the rarest level that the sale belongs to; infinite without groups.
    """

    price: FloatArray
    estimate: FloatArray
    mean: FloatArray
    scores: FloatArray
    others: FloatArray


def held_out_prices(model: PriceModel) -> HeldOutPrices:
    """Return the sales that the model keeps, in money."""
    held = model.held
    return HeldOutPrices(
        price=money(held.mean + held.error + model.centre),
        estimate=money(held.mean + model.centre + model.shift),
        mean=held.mean,
        scores=held.score,
        others=np.maximum(held.others, 0.0),
    )


def error_size(held: HeldOutPrices) -> ErrorSize:
    """Return how far the estimates were off."""
    off = 100 * np.abs(held.estimate / held.price - 1)
    low, high = np.quantile(100 * (held.price / held.estimate - 1), (0.1, 0.9))
    return ErrorSize(sales=len(off), median=float(np.median(off)), low_80=float(low), high_80=float(high))


def coverage_rows(model: PriceModel, held: HeldOutPrices) -> tuple[CoverageRow, ...]:
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


def _row(model: PriceModel, held: HeldOutPrices, label: str, chosen: BoolArray) -> CoverageRow:
    scores, within = held.scores[chosen], {}
    for level in LEVELS:
        low, high = model.multiples(level, held.mean[chosen], support_of(held.others[chosen]))
        within[level] = 100 * float(np.mean((scores >= low) & (scores <= high)))
    return CoverageRow(label=label, sales=len(scores), within=within)


def _told(amount: float, model: PriceModel) -> str:
    told = money_from_float(amount, currency_of(model))
    return f"{told.amount:,f} {model.currency}".strip()
