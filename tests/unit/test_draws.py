"""Joint draws of prices: each as wide as its interval, states of one unit moving together, the seed fixing all."""

from __future__ import annotations

import numpy as np
import pytest

from pricing.errors import BadInput
from pricing.estimation.draws import draw_units
from pricing.estimation.estimate import estimate_columns
from pricing.records.unit_columns import columns_of_units
from tests.builders import healthy, small_class, spotless

DRAWS = 4000


def unit_with(**changes):
    return spotless(functions=healthy(**changes))


DEAD = {"status": "dead", "tested_on": "2026-03-03"}
PAIR = (unit_with(), unit_with(camera_main=DEAD))


def test_draws_have_the_mean_and_the_interval_of_the_estimate(model):
    columns = estimate_columns(model, columns_of_units(PAIR, small_class()))
    drawn = draw_units(model, PAIR, seed=1, draws=DRAWS)
    assert drawn.shape == (DRAWS, 2)
    np.testing.assert_allclose(drawn.mean(axis=0), columns.expected, rtol=0.01)
    for level in (50, 80):
        inside = (drawn >= columns.low[level]) & (drawn <= columns.high[level])
        np.testing.assert_allclose(100 * inside.mean(axis=0), level, atol=4)


def test_states_of_one_unit_share_its_own_error_and_other_units_do_not(model):
    together = np.log(draw_units(model, PAIR, seed=1, groups=(0, 0), draws=DRAWS))
    apart = np.log(draw_units(model, PAIR, seed=1, draws=DRAWS))
    assert np.corrcoef(together.T)[0, 1] > 0.9
    assert np.corrcoef(apart.T)[0, 1] < 0.5
    assert np.std(together[:, 0] - together[:, 1]) < 0.5 * np.std(apart[:, 0] - apart[:, 1])


def test_the_seed_fixes_every_draw_and_another_seed_changes_them(model):
    first, again, other = (draw_units(model, PAIR, seed=seed, draws=50) for seed in (1, 1, 2))
    np.testing.assert_array_equal(first, again)
    assert not np.allclose(first, other)


def test_two_units_of_a_brand_never_seen_share_what_is_not_known_of_it(model):
    named = [{"brand": brand, "model": "N2", "storage_gb": "256"} for brand in ("Zorn", "Zorn", "Ypsil")]
    strange = [spotless(attributes=attributes) for attributes in named]
    drawn = np.log(draw_units(model, strange, seed=3, draws=DRAWS))
    matrix = np.corrcoef(drawn.T)
    assert matrix[0, 1] > matrix[0, 2] + 0.2
    assert drawn[:, 0].std() > np.log(draw_units(model, PAIR[:1], seed=3, draws=DRAWS)).std()


def test_a_unit_of_another_class_is_refused(model):
    other = PAIR[0].model_copy(update={"device_class": "kettle"})
    with pytest.raises(BadInput, match="kettle"):
        draw_units(model, [other], seed=1)
