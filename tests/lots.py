"""Lots with a known truth: one level that bidders misjudge, and luck that nobody can foresee."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from pricing.decisions.lot_bid import LotDraws
from pricing.records.lot import LotTerms

TERMS = LotTerms(
    currency="EUR", premium_percent=Decimal(20), premium_tax_percent=Decimal(25), import_percent=Decimal(3),
    fixed=Decimal(12), carriage=Decimal(80), minutes=20, hour_cost=Decimal(18),
)  # fmt: skip


@dataclass(frozen=True)
class Lot:
    """Units worth ``exp(level + own error)`` each, some missing; a bidder knows the level but for an error."""

    units: int = 20
    value: float = 60.0
    error: float = 0.2
    luck: float = 0.5
    missing: float = 0.05

    def worth(self, rng, level_log):
        """Net and hours of lots whose true levels are given."""
        shape = (len(level_log), self.units)
        there = rng.random(shape) >= self.missing
        prices = self.value * np.exp(level_log[:, None] + self.luck * rng.standard_normal(shape))
        return (prices * there).sum(axis=1), there.sum(axis=1) / 3

    def draws(self, seed, count, judged_log=0.0):
        """What a bidder believes who judges the level to be ``judged_log``."""
        rng = np.random.default_rng(seed)
        level_log = judged_log + self.error * rng.standard_normal(count)
        return LotDraws(*self.worth(rng, level_log), np.exp(level_log))
