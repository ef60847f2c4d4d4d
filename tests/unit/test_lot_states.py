from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from api.shop.lot_states import unknown_functions, with_states
from pricing.decisions.lot_rates import LOCKED, LotShares, LotStates
from tests.builders import small_class
from tests.market import table_of

UNITS = table_of(
    3,
    faults={"wifi": ["works", None, "untested"], "nfc": [None, "untested", "dead"], "power_on": ["works"] * 3},
    locks={"owner_account": ["free", "not checked", None]},
)


def words_of(column):
    return [column.word(row) for row in range(len(column.codes))]


def test_a_function_is_open_where_nothing_is_said_or_it_is_untested():
    found = {function.name: function.unknown.tolist() for function in unknown_functions(small_class(), UNITS)}
    assert found["wifi"] == [False, True, True]
    assert found["loudspeaker"] == [True, True, True]
    assert "power_on" not in found


def test_of_a_function_that_only_some_models_have_silence_is_no_news():
    found = {function.name: function.unknown.tolist() for function in unknown_functions(small_class(), UNITS)}
    assert found["nfc"] == [False, True, False]


def test_a_function_that_a_unit_has_not_is_not_open():
    described = small_class()
    wifi = described.functions_by_name["wifi"].model_copy(update={"fitted_if": {"brand": ("Onda",)}})
    described = described.model_copy(update={"functions": (wifi,)})
    told = replace(UNITS, texts=table_of(3, texts={"brand": ["Onda", "Onda", "Tessa"]}).texts)
    assert unknown_functions(described, told)[0].unknown.tolist() == [False, True, False]
    assert unknown_functions(described, UNITS) == ()


@pytest.fixture
def states():
    """Two draws of three units."""
    unit = np.array([[0, LOCKED, 0], [0, 0, 1]], dtype=np.int8)
    wifi = np.array([[-1, 2, 0], [-1, 0, 1]], dtype=np.int8)
    functions = {"wifi": wifi, "loudspeaker": np.zeros((2, 3), dtype=np.int8)}
    return LotStates(unit, functions, LotShares(np.ones((2, 4)), {}))


def test_drawn_statuses_stand_where_nothing_was_known_and_known_ones_stay(states):
    table = with_states(small_class(), UNITS, states)
    assert table.rows == 6
    assert words_of(table.faults["wifi"]) == ["works", "dead", "works", "works", "works", "impaired"]
    assert words_of(table.faults["loudspeaker"]) == ["works"] * 6
    assert words_of(table.faults["nfc"]) == [None, "untested", "dead"] * 2


def test_locks_are_checked_by_then_and_one_holds_the_units_drawn(states):
    table = with_states(small_class(), UNITS, states)
    assert words_of(table.locks["owner_account"]) == ["free", "locked", "free", "free", "free", "free"]
    assert words_of(table.locks["network_lock"]) == ["free"] * 6
    assert table.sold_as is None


def test_a_lock_that_is_known_to_hold_still_holds(states):
    told = replace(UNITS, locks=table_of(3, locks={"owner_account": ["locked", None, None]}).locks)
    table = with_states(small_class(), told, states)
    assert words_of(table.locks["owner_account"])[::3] == ["locked", "locked"]


def test_in_a_class_without_locks_a_locked_unit_is_sold_for_parts(states):
    plain = small_class().model_copy(update={"locks": ()})
    assert words_of(with_states(plain, UNITS, states).sold_as) == [None, "parts", None, None, None, None]


def test_each_word_stands_once_among_the_levels_of_a_column(states):
    levels = with_states(small_class(), UNITS, states).faults["wifi"].levels
    assert len(set(levels)) == len(levels)
