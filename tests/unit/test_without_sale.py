from __future__ import annotations

import numpy as np
import pytest

from pricing.estimation.held_out import held_out_prices
from pricing.estimation.without_sale import estimates_without
from pricing.hedonic.fit import FitSettings, fit_model
from pricing.hedonic.ranks import rank_keys, rank_order
from tests.builders import small_class
from tests.market import NOISE_LOG


def fitted(sales):
    """Without choosing a structure: that is no part of what is shown here, and takes long."""
    return fit_model(sales, small_class(), settings=FitSettings(interactions=False, trees=False))


@pytest.fixture(scope="module")
def model(sales):
    return fitted(sales)


def test_of_prices_paid_it_is_the_held_out_estimate(model, sales):
    paid = np.flatnonzero(~sales.asked)
    ordered = sales.take(rank_order(rank_keys(sales)))
    ordered = ordered.take(np.flatnonzero(~ordered.asked))
    assert len(ordered.price) == len(paid)
    # The model knows each sale's share of the spread from the folds without it; here it is read from the sale itself.
    assert estimates_without(model, ordered) == pytest.approx(held_out_prices(model).estimate, rel=0.01)


def test_of_a_price_asked_it_is_near_what_a_model_without_it_says_of_a_sale(model, sales):
    found = estimates_without(model, sales)
    asked = np.flatnonzero(sales.asked)
    for row in asked[:: len(asked) // 4]:
        without = fitted(sales.take(np.delete(np.arange(sales.rows), row)))
        table = sales.condition.take(np.array([row]))
        refitted = float(without.estimate(without.predict(without.dated(table, None)))[0])
        assert np.log(found[row] / refitted) == pytest.approx(0, abs=0.5 * NOISE_LOG)


def test_a_listing_of_its_own_price_does_not_pull_its_estimate(model, sales):
    """The estimate of all rows would follow each price a little; that without the row has no such part."""
    error = np.log(sales.price / estimates_without(model, sales))
    with_it = np.log(sales.price / model.estimate(model.predict(model.dated(sales.condition, None))))
    assert error[~sales.asked].std() > with_it[~sales.asked].std()
