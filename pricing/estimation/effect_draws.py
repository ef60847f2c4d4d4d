"""Draws of the fitted effects, which keep the bounds that effects have: no draw lets a fault raise a price.

The effects b of a model minimise (b - b_free)' V^-1 (b - b_free) subject to C b >= 0, so b = b_free + V C'u with
multipliers u >= 0 of the bounds that bind. For the columns that some units touch, with the bounds C that lie wholly
within them, draw k is the solution of the same problem for one draw of the posterior without bounds::

    z_k = b - V C'u + N(0, t2 V),    b_k = z_k + V C'm_k,    m_k >= 0,    C b_k >= 0,    m_k' C b_k = 0

The centre b - V C'u is projected on b itself, so draws lie round the effects by which units are priced. As in ``signs``
the multipliers are those of a non-negative least squares problem over the bounds that a draw breaks, and those that it
breaks once these are kept.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from scipy.optimize import nnls

from pricing.hedonic.model import PriceModel
from pricing.hedonic.pieces import PlaceArray
from pricing.hedonic.signs import dual_multipliers
from pricing.records.sales_table import FloatArray

_BINDS = 1e-9
_BROKEN = 1e-7


class EffectDraws:
    """Draws the errors of one model's effects."""

    def __init__(self, model: PriceModel) -> None:
        self.model = model

    @cached_property
    def _multipliers(self) -> FloatArray:
        """The multiplier of each bound at the model's effects, shape (bounds,); 0 where it does not bind.

        Effects that are the average of two fits have no multipliers that are exact; the nearest ones serve.
        """
        model, bounds = self.model, self.model.design.bounds
        found = np.zeros(bounds.shape[0])
        pull = model.effects - model.free_effects
        binding = np.flatnonzero(bounds @ model.effects < _BINDS)
        if len(binding) and bool(np.any(np.abs(pull) > _BINDS)):
            pushes = np.asarray(bounds[binding] @ model.inverse)
            found[binding], _ = nnls(pushes.T, pull, maxiter=50 * len(binding))
        return found

    def errors(self, used: PlaceArray, rng: np.random.Generator, draws: int) -> FloatArray:
        """Return draws of effects less the model's effects, shape (draws, used).

        Args:
            used: The raw columns that the units touch.
            rng: Where chance comes from.
            draws: How many.
        """
        model = self.model
        spread = model.inverse[np.ix_(used, used)]
        errors = normal_draws(rng, model.effect_sigma2 * spread, draws)
        within = self._bounds_within(used)
        if not len(within):
            return errors
        bounds = model.design.bounds[within][:, used].toarray()
        pushes = bounds @ spread
        errors = errors - self._multipliers[within] @ pushes
        slack = np.asarray(model.design.bounds[within] @ model.effects)
        return np.asarray(errors + multipliers_of(slack + errors @ bounds.T, pushes @ bounds.T) @ pushes)

    def _bounds_within(self, used: PlaceArray) -> PlaceArray:
        """Return the numbers of the bounds all of whose columns are used."""
        bounds = self.model.design.bounds
        outside = np.ones(bounds.shape[1])
        outside[used] = 0.0
        return np.flatnonzero((abs(bounds) @ outside == 0) & (np.diff(bounds.indptr) > 0)).astype(np.int32)


def multipliers_of(values: FloatArray, metric: FloatArray) -> FloatArray:
    """Return multipliers m >= 0 with values + m metric >= 0, one of the two 0 in each place, shape (draws, bounds).

    Args:
        values: C z of each draw, shape (draws, bounds).
        metric: C V C', shape (bounds, bounds).
    """
    found = np.zeros_like(values)
    slack = -_BROKEN * np.sqrt(np.maximum(np.diag(metric), 0.0))
    for draw in np.flatnonzero((values < slack).any(axis=1)):
        mine, left = found[draw], values[draw]
        kept = np.zeros(len(left), dtype=np.bool_)
        while (left < slack)[~kept].any():
            kept |= left < slack
            chosen = np.flatnonzero(kept)
            mine[chosen] = dual_multipliers(values[draw, chosen], metric[np.ix_(chosen, chosen)])
            left = values[draw] + mine @ metric
    return found


def normal_draws(rng: np.random.Generator, covariance: FloatArray, draws: int) -> FloatArray:
    """Return draws of N(0, covariance), shape (draws, rows); the covariance may be singular."""
    values, vectors = np.linalg.eigh((covariance + covariance.T) / 2)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    return np.asarray(rng.standard_normal((draws, len(values))) @ root.T)
