from __future__ import annotations

import numpy as np
import pytest

from api.shop.lot_levels import lot_levels, usual_states
from api.shop.lot_states import unknown_functions, with_states
from pricing.decisions.lot_rates import MISSING, SWAPPED, draw_states, expected_shares
from pricing.estimation.lot_draws import draw_lot
from pricing.hedonic.fit import FitSettings, fit_model
from pricing.records.lot_rates import FaultShares, LotHistory, LotRates
from pricing.records.unit_columns import columns_of_units
from tests.builders import small_class, small_unit, spotless
from tests.market import small_sales

DRAWS = 20_000
OPEN = tuple(small_unit(attributes={"brand": "Arvel", "model": "N2", "storage_gb": "256"}) for _ in range(4))
RATES = LotRates(missing=0.1, swapped=0.1, locked=0.1, gates=FaultShares(dead=0.2), functions=FaultShares(dead=0.2))


@pytest.fixture(scope="module")
def model():
    return fit_model(small_sales(400), small_class(), settings=FitSettings(interactions=False, trees=False))


def judged(model, units, rates, draws=DRAWS):
    """Level, net and rates of each draw."""
    described = model.dated(columns_of_units(units, small_class()), None)
    functions = unknown_functions(small_class(), described)
    expected = expected_shares(rates, LotHistory(), functions)
    usual = usual_states(model, described, functions, expected, swapped_worth=0.5, seed=1)
    states = draw_states(rates, LotHistory(), functions, units=described.rows, draws=draws, seed=2)
    table = with_states(small_class(), described, states)
    rows = np.arange(table.rows).reshape(draws, -1)

    def stated(part):
        return table.take(rows[part].ravel())

    priced = draw_lot(model, described, stated, usual.table, usual.worth, draws=draws, seed=3)
    level = lot_levels(
        model, described, functions,
        usual=usual, by_error=priced.level, drawn=states.shares, expected=expected, swapped_worth=0.5,
    )  # fmt: skip
    worth = np.where(states.unit == MISSING, 0.0, np.where(states.unit == SWAPPED, 0.5, 1.0))
    return level, (worth * priced.price).sum(axis=1), states.shares


def test_a_lot_brings_on_average_what_its_level_says_in_every_fifth_of_the_levels(model):
    """The level is the expected worth given what bidders may misjudge, but for the mean of luck: a constant factor."""
    level, net, _ = judged(model, OPEN, RATES)
    luck = net.mean() / level.mean()
    assert 1 < luck < 1.1
    for fifth in np.array_split(np.argsort(level), 5):
        assert net[fifth].mean() == pytest.approx(luck * level[fifth].mean(), rel=0.025)
    assert level.std() > 0.1 * level.mean()


def test_a_draw_with_more_faulty_units_has_a_lower_level(model):
    level, _, shares = judged(model, OPEN, RATES, draws=4000)
    assert np.corrcoef(level, shares.functions["power_on"][:, 2])[0, 1] < -0.3
    assert np.corrcoef(level, shares.unit[:, 0])[0, 1] > 0.5


def test_where_nothing_is_open_only_the_error_of_the_model_moves_the_level(model):
    sure = LotRates(missing=0, swapped=0, locked=0)
    level, net, _ = judged(model, (spotless(), spotless()), sure, draws=4000)
    log_level, log_net = np.log(level), np.log(net)
    assert np.corrcoef(log_level, log_net)[0, 1] == pytest.approx(log_level.std() / log_net.std(), abs=0.05)
