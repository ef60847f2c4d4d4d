"""What a method reached: per fold, per set, and whether it may stand as a peer at a level."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from pricing.hedonic.conformal import interval_score

MOST_MISSED = 0.03  # of sales outside an interval beyond what it allows; more, and the score counts for nothing


@dataclass(frozen=True)
class Priced:
    """Median estimate, and interval edges by level, in money; shape (rows,) each."""

    estimate: np.ndarray
    low: dict[int, np.ndarray]
    high: dict[int, np.ndarray]


@dataclass(frozen=True)
class FoldScore:
    """One held-out fold.

    Attributes:
        rows: Sales in it.
        inside: level -> sales inside the interval.
        score: level -> mean interval score over the fold's median price.
        error: Median of |estimate / price - 1|.
        fit_seconds, price_seconds, reading_seconds: Processor time on one thread; reading a file is not in fitting.
    """

    rows: int
    inside: dict[int, int]
    score: dict[int, float]
    error: float
    fit_seconds: float = 0.0
    price_seconds: float = 0.0
    reading_seconds: float = 0.0


def fold_score(priced: Priced, prices: np.ndarray, **seconds: float) -> FoldScore:
    """Return what the prices of a fold say of the intervals.

    Raises:
        ValueError: A figure is missing or not finite: every sale must get its interval.
    """
    edges = [*priced.low.values(), *priced.high.values(), priced.estimate]
    if not all(np.isfinite(each).all() for each in edges):
        raise ValueError("a sale has no figure")
    inside, score = {}, {}
    for level in priced.low:
        low, high = priced.low[level], priced.high[level]
        inside[level] = int(np.count_nonzero((low <= prices) & (prices <= high)))
        score[level] = float(interval_score(low, high, prices, 1 - level / 100).mean() / np.median(prices))
    error = float(np.median(np.abs(priced.estimate / prices - 1)))
    return FoldScore(len(prices), inside, score, error, **seconds)


@dataclass(frozen=True)
class Reached:
    """The folds of one method on one set, together."""

    folds: tuple[FoldScore, ...]

    def coverage(self, level: int) -> float:
        return sum(each.inside[level] for each in self.folds) / sum(each.rows for each in self.folds)

    def score(self, level: int) -> float:
        return float(np.mean([each.score[level] for each in self.folds]))

    @property
    def error(self) -> float:
        return float(np.mean([each.error for each in self.folds]))

    def seconds(self, part: str) -> float:
        """Return the median over folds of ``fit``, ``price`` or ``reading``."""
        return float(np.median([getattr(each, f"{part}_seconds") for each in self.folds]))

    def covers(self, level: int) -> bool:
        """Tell whether at most three points too many lie outside. Covering too much is no fault of a good score."""
        return self.coverage(level) >= level / 100 - MOST_MISSED


    def hits(self, level: int) -> bool:
        """Tell whether the coverage misses its level by at most three points, either way."""
        return abs(self.coverage(level) - level / 100) <= MOST_MISSED


def best_covering(reached: dict[str, Reached], level: int, *, both_ways: bool = False) -> str | None:
    """Return the method with the least score among those that cover, ours apart.

    ``both_ways`` leaves out those that cover more than three points too much as well.
    """
    able = [
        name
        for name, each in reached.items()
        if name != "ours" and (each.hits(level) if both_ways else each.covers(level))
    ]
    return min(able, key=lambda name: reached[name].score(level), default=None)


def geometric_mean(values: Iterable[float]) -> float:
    return float(np.exp(np.mean(np.log(list(values)))))
