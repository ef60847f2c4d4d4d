"""What a model keeps of the sales that it was checked on: enough to say later how right it was."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pricing.records.sales_table import FloatArray

MOST_HELD = 2001


@dataclass(frozen=True, eq=False)
class HeldOut:
    """Errors of sales held out of the fit, of prices paid (of all, when all were only asked).

    Attributes:
        mean: shape (held,): what was said without the sale, on the log of price, less the model's centre.
        error: shape (held,): ln(price) less that.
        score: shape (held,): error over its standard deviation.
        others: shape (held,): other sales of the rarest level that the sale belongs to; infinite without groups.
    """

    mean: FloatArray
    error: FloatArray
    score: FloatArray
    others: FloatArray

    def thinned(self) -> HeldOut:
        """Return at most 2,001 of them, evenly spaced."""
        if len(self.mean) <= MOST_HELD:
            return self
        rows = np.round(np.linspace(0, len(self.mean) - 1, MOST_HELD)).astype(np.intp)
        return HeldOut(self.mean[rows], self.error[rows], self.score[rows], self.others[rows])
