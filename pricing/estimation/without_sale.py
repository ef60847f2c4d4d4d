"""What each listed unit would have been estimated at by the model without that listing.

With the residual r_i on ln(price) and the leverage h_i, the model without row i is off by r_i / (1 - h_i); see
``held_out``. A row whose price was only asked tells, less the effect of asking, what a sale would have fetched.
"""

from __future__ import annotations

import numpy as np

from pricing.hedonic.model import PriceModel, money
from pricing.records.sales_table import FloatArray, SalesTable

_LEAST_LEFT = 1e-6
_MOST_LOG = 100.0


def estimates_without(model: PriceModel, sales: SalesTable) -> FloatArray:
    """Return the estimate of each row's selling price by the model without that row, in money, shape (rows,).

    Args:
        model: Fitted to these rows, among others.
        sales: Rows that were fitted, so none that was refunded.
    """
    found = np.empty(sales.rows)
    price_log = np.log(sales.price)
    unasked = np.zeros(sales.rows, dtype=np.bool_)
    corrected = model.centre + model.correction(sales.condition)
    blocks = zip(
        model.design.chunks(sales.condition, sales.asked), model.design.chunks(sales.condition, unasked), strict=True
    )
    for (part, raw), (_, as_sold) in blocks:
        fitted = raw.times(model.effects)
        residual = price_log[part] - corrected[part] - fitted
        left = np.clip(1 - raw.quadratic(model.inverse) / model.spread.shares(raw), _LEAST_LEFT, 1.0)
        error = np.clip(residual / left, -_MOST_LOG, _MOST_LOG)
        asking = fitted - as_sold.times(model.effects)
        found[part] = money(price_log[part] - error - asking + model.shift)
    return found
