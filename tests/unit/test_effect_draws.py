"""Draws of effects: round the effects themselves, never beyond a bound, and the solution that a bound leads to."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import sparse

from pricing.estimation.draws import dense_columns, used_columns
from pricing.estimation.effect_draws import EffectDraws, multipliers_of, normal_draws
from pricing.hedonic.fit import FitSettings, fit_model
from pricing.hedonic.signs import constrained
from pricing.records.unit_columns import columns_of_units
from tests.builders import healthy, small_class, spotless

DRAWS = 2000
STATUSES = ("impaired", "dead", "removed")


@pytest.fixture(scope="module")
def model(sales):
    return fit_model(sales, small_class(), settings=FitSettings(interactions=False, trees=False))


def faulty(function, status):
    symptom = {"symptom": "faint"} if status == "impaired" else {}
    test = {"status": status, "tested_on": "2026-03-03"} | symptom
    return spotless(functions=healthy(**{function: test}))


def test_no_draw_of_the_effects_lets_a_fault_raise_the_price(model):
    """What is left to chance beside the effects, the unit's own error, is wider for a faulty one; so it is left out."""
    names = [each.name for each in small_class().functions]
    units = [spotless(functions=healthy()), *(faulty(name, status) for name in names for status in STATUSES)]
    prediction = model.predict(model.dated(columns_of_units(units, small_class()), None))
    raw = model.design.rows(prediction.read)
    used = used_columns(raw)
    errors = EffectDraws(model).errors(used, np.random.default_rng(5), DRAWS)
    price_log = prediction.mean + errors @ dense_columns(raw, used).T
    assert (price_log[:, 1:] <= price_log[:, :1] + 1e-6).all()


def test_without_the_bounds_some_draws_would(model):
    """The test before must be able to fail: some effect has a posterior that reaches beyond its bound."""
    bounds = model.design.bounds
    size = np.sqrt(model.effect_sigma2 * np.einsum("ij,ij->i", bounds @ model.inverse, bounds.toarray()))
    assert (bounds @ model.free_effects < 2 * size).any()


def test_draws_of_effects_keep_every_bound_of_the_columns_they_touch(model):
    used = np.arange(model.design.columns)
    errors = EffectDraws(model).errors(used, np.random.default_rng(2), 300)
    assert (model.design.bounds @ (model.effects + errors).T).min() > -1e-6


def test_columns_without_a_bound_are_drawn_from_their_posterior(model):
    bound = np.unique(model.design.bounds.indices)
    used = np.setdiff1d(np.arange(model.design.columns), bound)
    errors = EffectDraws(model).errors(used, np.random.default_rng(2), 20_000)
    expected = model.effect_sigma2 * model.inverse[np.ix_(used, used)]
    np.testing.assert_allclose(errors.var(axis=0), np.diag(expected), rtol=0.08, atol=1e-12)


def test_the_centre_of_the_draws_is_projected_on_the_effects(model):
    """With no noise at all the draw is the model's own effects, whatever bounds bind."""
    raw = model.design.rows(model.dated(columns_of_units([spotless(functions=healthy())], small_class()), None))
    still = EffectDraws(replace(model, effect_sigma2=0.0))
    used = used_columns(raw)
    np.testing.assert_allclose(still.errors(used, np.random.default_rng(0), 3), 0, atol=1e-7)


@pytest.mark.parametrize("seed", range(12))
def test_a_draw_beyond_its_bounds_becomes_the_constrained_solution(seed):
    rng = np.random.default_rng(seed)
    columns, bounds = int(rng.integers(2, 7)), int(rng.integers(1, 6))
    root = rng.normal(size=(columns, columns))
    spread = root @ root.T + 0.1 * np.eye(columns)
    matrix = rng.normal(size=(bounds, columns)) * (rng.random((bounds, columns)) < 0.7)
    matrix[:, 0] += 0.5
    points = rng.normal(size=(40, columns)) * 2
    found = points + multipliers_of(points @ matrix.T, matrix @ spread @ matrix.T) @ matrix @ spread
    for point, mine in zip(points, found, strict=True):
        expected = constrained(point, spread, sparse.csr_array(matrix))
        np.testing.assert_allclose(mine, expected, atol=2e-4)


def test_draws_within_their_bounds_stay_as_they_are():
    values = np.array([[0.5, 2.0], [0.0, 1.0]])
    assert not multipliers_of(values, np.eye(2)).any()


def test_normal_draws_have_their_covariance_even_a_singular_one():
    covariance = np.array([[2.0, 1.0, 2.0], [1.0, 3.0, 1.0], [2.0, 1.0, 2.0]])
    drawn = normal_draws(np.random.default_rng(1), covariance, 60_000)
    np.testing.assert_allclose(np.cov(drawn.T), covariance, atol=0.06)
    np.testing.assert_allclose(drawn[:, 0], drawn[:, 2], atol=1e-7)
