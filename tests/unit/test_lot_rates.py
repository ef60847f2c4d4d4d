from __future__ import annotations

import numpy as np
import pytest
from pydantic import ValidationError

from pricing.decisions.lot_rates import (
    LOCKED,
    MISSING,
    SWAPPED,
    UnknownFunction,
    draw_states,
    draw_usual_states,
    expected_shares,
)
from pricing.errors import BadInput
from pricing.records.lot_rates import FaultCounts, FaultShares, LotHistory, LotRates

RATES = LotRates(missing=0.1, swapped=0.05, locked=0.2, weight=50, own={"wifi": FaultShares(dead=0.3, impaired=0.1)})
UNITS = 10
NO_HISTORY = LotHistory()
FUNCTIONS = (
    UnknownFunction("power_on", gate=True, unknown=np.ones(UNITS, dtype=bool)),
    UnknownFunction("wifi", gate=False, unknown=np.arange(UNITS) < 5),
    UnknownFunction("nfc", gate=False, unknown=np.ones(UNITS, dtype=bool)),
)


def drawn(rates=RATES, history=NO_HISTORY, draws=20_000, seed=1):
    return draw_states(rates, history, FUNCTIONS, units=UNITS, draws=draws, seed=seed)


def test_without_history_the_shares_are_the_believed_ones():
    states = drawn()
    for kind, share in ((MISSING, 0.1), (SWAPPED, 0.05), (LOCKED, 0.2)):
        assert (states.unit == kind).mean() == pytest.approx(share, abs=0.01)
    assert (states.functions["power_on"] == 2).mean() == pytest.approx(RATES.gates.dead, abs=0.01)
    assert (states.functions["nfc"] == 1).mean() == pytest.approx(RATES.functions.impaired, abs=0.01)


def test_own_shares_of_a_function_win_and_known_statuses_stay():
    wifi = drawn().functions["wifi"]
    assert (wifi[:, :5] == 2).mean() == pytest.approx(0.3, abs=0.01)
    assert (wifi[:, 5:] == -1).all()


def test_history_moves_the_shares_by_its_weight():
    history = LotHistory(units=150, missing=60, functions={"nfc": FaultCounts(works=100, dead=50)})
    states = drawn(history=history)
    assert (states.unit == MISSING).mean() == pytest.approx((50 * 0.1 + 60) / 200, abs=0.01)
    assert (states.functions["nfc"] == 2).mean() == pytest.approx((50 * 0.03 + 50) / 200, abs=0.01)


def test_units_of_one_lot_share_a_rate_that_is_not_known():
    """With shares from Dirichlet(50 p), the variance of a lot's count is that of a beta-binomial."""
    missing = (drawn().unit == MISSING).sum(axis=1)
    assert missing.var() == pytest.approx(UNITS * 0.1 * 0.9 * (1 + (UNITS - 1) / 51), rel=0.05)


def test_what_is_believed_impossible_and_never_found_does_not_happen():
    states = drawn(LotRates(missing=0, swapped=0, locked=0, functions=FaultShares(dead=0, impaired=1)))
    assert not states.unit.any()
    assert (states.functions["nfc"] == 1).all()


def test_the_same_seed_gives_the_same_lots():
    assert (drawn(draws=50).unit == drawn(draws=50).unit).all()
    assert (drawn(draws=50).unit != drawn(draws=50, seed=2).unit).any()


def test_a_lot_without_units_is_refused():
    with pytest.raises(BadInput, match="lot, units: found 0 units; expected at least 1"):
        draw_states(RATES, LotHistory(), (), units=0, draws=10, seed=1)


@pytest.mark.parametrize(
    ("kind", "values"),
    [(LotRates, {"missing": -0.1}), (LotRates, {"missing": 0.6, "swapped": 0.5}), (LotRates, {"weight": 0}),
     (FaultShares, {"dead": 0.8, "impaired": 0.3}), (LotHistory, {"units": 3, "missing": 4}),
     (LotHistory, {"units": -1}), (FaultCounts, {"dead": -1})],
)  # fmt: skip
def test_shares_and_counts_that_cannot_be_are_refused(kind, values):
    with pytest.raises(ValidationError):
        kind.model_validate(values)


def test_expected_shares_are_the_means_of_the_drawn_ones():
    history = LotHistory(units=150, missing=60, functions={"nfc": FaultCounts(works=100, dead=50)})
    expected, states = expected_shares(RATES, history, FUNCTIONS), drawn(history=history)
    assert expected.unit[0] == pytest.approx(states.shares.unit.mean(axis=0), abs=0.005)
    for name, share in expected.functions.items():
        assert share[0] == pytest.approx(states.shares.functions[name].mean(axis=0), abs=0.005)


def test_usual_states_have_the_expected_shares_and_no_more_spread_than_single_units():
    expected = expected_shares(RATES, NO_HISTORY, FUNCTIONS)
    states = draw_usual_states(expected, FUNCTIONS, units=UNITS, samples=20_000, seed=3)
    missing = (states.unit == MISSING).sum(axis=1)
    assert missing.mean() == pytest.approx(UNITS * 0.1, rel=0.03)
    assert missing.var() == pytest.approx(UNITS * 0.1 * 0.9, rel=0.05)
    assert (states.functions["wifi"][:, 5:] == -1).all()
