"""A multinomial logistic regression that was fitted before: its weights, and the chances that they give."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from math import exp

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class LinearFit:
    """The fit: for each label where it begins, and what each clue adds to it.

    Attributes:
        labels: What can be told apart.
        base: One number for each label.
        weights: Clue -> one number for each label.
    """

    labels: tuple[str, ...]
    base: tuple[float, ...]
    weights: Mapping[str, tuple[float, ...]]

    def chances(self, *clues: tuple[Iterable[str], float]) -> Mapping[str, float]:
        """Return the chance of each label, 0 to 1, together 1.

        Args:
            clues: Groups of clues, each with what every clue of the group counts; unknown ones count nothing.
        """
        sums = np.array(self.base)
        for group, each in clues:
            rows = [row for clue in group if (row := self._rows.get(clue)) is not None]
            sums = sums + each * self._table[rows].sum(axis=0)
        raised = [exp(one) for one in (sums - sums.max()).tolist()]
        return {label: one / sum(raised) for label, one in zip(self.labels, raised, strict=True)}

    @cached_property
    def _rows(self) -> Mapping[str, int]:
        return {clue: row for row, clue in enumerate(self.weights)}

    @cached_property
    def _table(self) -> NDArray[np.float64]:
        return np.array(list(self.weights.values()), dtype=float).reshape(len(self.weights), len(self.base))
