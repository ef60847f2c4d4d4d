"""From sales with a listing's history to waits: how long each stood, and whether it sold."""

from __future__ import annotations

from datetime import date

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from pricing.decisions.time_to_sell import FEWEST_SOLD, Waits
from pricing.records.sales_table import BoolArray, DayArray, FloatArray, SalesTable

RowArray = NDArray[np.intp]
# Some asks are mistyped, or only open an auction: so much of each end does not count.
_TRIMMED = 0.05


def rows_with_history(sales: SalesTable, on: date) -> RowArray:
    """Return the rows with a known start, ask and end: sold, withdrawn, or still standing on the day ``on``.

    A sale that was undone is left out: no estimate was fitted to it. What was listed after ``on`` is left out too.
    """
    if sales.listed_on is None:
        return np.empty(0, dtype=np.intp)
    ended = _ends(sales, on)
    known = ~np.isnat(sales.listed_on) & ~np.isnat(ended) & np.isfinite(_asks(sales)) & ~sales.refunded
    known &= np.where(known, ended >= sales.listed_on, False)
    return np.flatnonzero(known)


def waits_of(sales: SalesTable, estimates: FloatArray, on: date) -> Waits:
    """Return the waits of rows that all have a history.

    Args:
        sales: Rows that ``rows_with_history`` chose.
        estimates: What each would have been estimated at without it, in the same currency, shape (rows,).
        on: Until this day those that still stand have stood.
    """
    assert sales.listed_on is not None  # noqa: S101 - such rows are never chosen
    days = (_ends(sales, on) - sales.listed_on) / np.timedelta64(1, "D")
    return Waits(days.astype(np.float64), _sold(sales), np.asarray(np.log(_asks(sales) / estimates)))


def paid_share(sales: SalesTable) -> float | None:
    """Return what buyers paid as a share of what was asked, on average; None: fewer than 30 sales tell both."""
    if sales.ask is None:
        return None
    told = _sold(sales) & ~sales.refunded & np.isfinite(sales.ask)
    if told.sum() < FEWEST_SOLD:
        return None
    return float(stats.trim_mean(sales.price[told] / sales.ask[told], _TRIMMED))


def _sold(sales: SalesTable) -> BoolArray:
    return ~sales.asked


def _asks(sales: SalesTable) -> FloatArray:
    """Return what was asked; a price that was only asked is its own ask."""
    stated = np.full(sales.rows, np.nan) if sales.ask is None else sales.ask
    return np.where(np.isnan(stated) & sales.asked, sales.price, stated)


def _ends(sales: SalesTable, on: date) -> DayArray:
    """Return the day of each sale or withdrawal, ``on`` for what still stands, else none."""
    never = np.full(sales.rows, np.datetime64("NaT", "D"))
    sold_on = never if sales.condition.sold_on is None else sales.condition.sold_on.astype("datetime64[D]")
    withdrawn = never if sales.withdrawn_on is None else sales.withdrawn_on
    still = np.zeros(sales.rows, dtype=np.bool_) if sales.still_listed is None else sales.still_listed
    unsold = np.where(still, np.datetime64(on, "D"), withdrawn)
    return np.where(_sold(sales), sold_on, unsold)
