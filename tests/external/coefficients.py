"""Coefficients of a fitted model in the variables' own units, as tables print them.

Our numbers enter centred and scaled, and the price as a centred logarithm; both are undone here, exactly as the
model did them, so that nothing but the model's own effects and covariance is compared.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pricing.hedonic.model import PriceModel
from pricing.hedonic.number_term import NumberTerm

CONSTANT = "constant"


@dataclass(frozen=True, eq=False)
class Coefficients:
    """Estimates with their covariance, on the log of price, in the order of ``names``."""

    names: tuple[str, ...]
    estimates: np.ndarray
    covariance: np.ndarray

    @property
    def errors(self) -> np.ndarray:
        """Standard errors, shape (names,)."""
        return np.sqrt(np.diag(self.covariance))

    def estimate(self, name: str) -> float:
        return float(self.estimates[self.names.index(name)])

    def error(self, name: str) -> float:
        return float(self.errors[self.names.index(name)])

    def mapped(self, back: np.ndarray) -> Coefficients:
        """Return the coefficients ``back`` times these, under the same names."""
        return Coefficients(self.names, back @ self.estimates, back @ self.covariance @ back.T)


def coefficients_of(model: PriceModel) -> Coefficients:
    """Return the coefficients of a model without bends: one column per number, and choices of two options."""
    back = np.zeros((len(model.effects), len(model.effects)))
    back[0, 0] = 1.0
    names = [CONSTANT] + [""] * (len(model.effects) - 1)
    for term, place in zip(model.design.terms, model.design.places, strict=True):
        columns = term.dense_columns + term.hot_columns
        assert columns <= 1, f"{term.name} has {columns} columns"
        if isinstance(term, NumberTerm):
            back[place.dense, place.dense] = 1 / term.spread
            back[0, place.dense] = -term.centre / term.spread
            names[place.dense] = term.name
        elif columns:
            back[place.hot, place.hot] = 1.0
            names[place.hot] = term.name
    assert all(names), "a column has no name"
    raw = Coefficients(tuple(names), model.effects, model.sigma2 * model.inverse)
    found = raw.mapped(back)
    found.estimates[0] += model.centre
    return found
