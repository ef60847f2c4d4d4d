from __future__ import annotations

import numpy as np
import pytest

from pricing.estimation.draws import draw_rows
from pricing.estimation.estimate import estimate_columns
from pricing.estimation.lot_draws import draw_lot
from pricing.hedonic.fit import FitSettings, fit_model
from pricing.records.unit_columns import columns_of_units
from tests.builders import healthy, small_class, spotless

DRAWS = 6000
DEAD = {"status": "dead", "tested_on": "2026-03-03"}


@pytest.fixture(scope="module")
def model(sales):
    return fit_model(sales, small_class(), settings=FitSettings(interactions=False, trees=False))


@pytest.fixture(scope="module")
def described(model):
    units = (spotless(), spotless(functions=healthy(camera_main=DEAD)), spotless(attributes={"brand": "Zorn"}))
    return model.dated(columns_of_units(units, small_class()), None)


def same_states(table):
    """All draws have the units as described."""

    def stated(part):
        """Return the units once for each draw."""
        return table.take(np.tile(np.arange(table.rows), part.stop - part.start))

    return stated


def drawn_lot(model, described, stated, *, draws=DRAWS, seed):
    """The level is taken of the units as described."""
    return draw_lot(model, described, stated, described, np.ones((1, described.rows)), draws=draws, seed=seed)


@pytest.fixture(scope="module")
def drawn(model, described):
    return drawn_lot(model, described, same_states(described), seed=1)


def test_draws_have_the_mean_of_the_expected_price(model, described, drawn):
    # The unit of a brand never seen has so wide tails that its mean is told by few draws.
    expected = estimate_columns(model, described, always=True).expected
    assert drawn.price[:, :2].mean(axis=0) == pytest.approx(expected[:2], rel=0.02)


def test_draws_are_as_wide_and_move_together_as_the_joint_draws_of_the_same_units(model, described, drawn):
    joint = np.log(draw_rows(model, described, np.arange(3), seed=2, draws=DRAWS))
    found = np.log(drawn.price)
    # The brand never seen has Student t tails of so few degrees that a standard deviation would be luck.
    width, expected = (np.subtract(*np.quantile(each, (0.9, 0.1), axis=0)) for each in (found, joint))
    assert width == pytest.approx(expected, rel=0.06)
    assert np.corrcoef(found.T) == pytest.approx(np.corrcoef(joint.T), abs=0.05)


def test_the_level_is_the_shared_error_of_the_model(drawn):
    level, price = np.log(drawn.level), np.log(drawn.price)
    for unit in range(3):
        assert np.corrcoef(level[:, unit], price[:, unit])[0, 1] == pytest.approx(
            level[:, unit].std() / price[:, unit].std(), abs=0.06
        )
    assert (level.std(axis=0) < price.std(axis=0)).all()


def test_the_level_is_the_mean_over_the_sampled_states_and_a_missing_unit_brings_nothing(model, described):
    whole = drawn_lot(model, described, same_states(described), draws=500, seed=4).level
    twice = described.take(np.array([0, 1, 2, 1, 1, 2]))
    worth = np.array([[1.0, 1.0, 0.0], [1.0, 0.5, 0.0]])
    level = draw_lot(model, described, same_states(described), twice, worth, draws=500, seed=4).level
    assert level[:, 0] == pytest.approx((whole[:, 0] + whole[:, 1]) / 2)
    assert level[:, 1] == pytest.approx(0.75 * whole[:, 1])
    assert not level[:, 2].any()


def test_states_that_differ_between_draws_move_only_their_own_draws(model, described):
    def stated(part):
        """Return every second draw with the states of unit 1, a dead camera, for unit 0."""
        odd = np.arange(part.start, part.stop) % 2
        rows = np.column_stack([odd, np.ones_like(odd), np.full_like(odd, 2)])
        return described.take(rows.ravel())

    price = drawn_lot(model, described, stated, seed=3).price
    good, bad = price[::2, 0], price[1::2, 0]
    assert bad.mean() == pytest.approx(price[:, 1].mean(), rel=0.02)
    assert bad.mean() < 0.85 * good.mean()


def test_the_seed_fixes_the_draws_and_blocks_change_only_which_they_are(model, described, monkeypatch):
    first, again = (drawn_lot(model, described, same_states(described), draws=500, seed=5) for _ in range(2))
    assert (first.price == again.price).all()
    monkeypatch.setattr("pricing.estimation.lot_draws.BLOCK_ROWS", 300)
    apart = drawn_lot(model, described, same_states(described), draws=500, seed=5)
    assert apart.price.shape == (500, 3)
    assert np.median(apart.price[:, 0]) == pytest.approx(np.median(first.price[:, 0]), rel=0.05)
