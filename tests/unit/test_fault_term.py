from __future__ import annotations

import numpy as np
import pytest

from pricing.hedonic.blocks import BlockBuilder
from pricing.hedonic.counts import count_words
from pricing.hedonic.fault_term import (
    FAULTY_MEAN_LOG,
    SEVERAL_MEAN_LOG,
    FaultTerm,
    fault_term,
    told,
)
from pricing.records.device_class import FAULT_STATUSES, DeviceClass, Function
from pricing.records.sales_table import ConditionTable
from tests.builders import small_class
from tests.market import same_columns, table_of, words

WIDTH = len(FAULT_STATUSES) + 1
NAMES = tuple(function.name for function in small_class().functions)


@pytest.fixture(scope="module")
def term() -> FaultTerm:
    found = fault_term(small_class(), count_words(same_columns(4, **dict.fromkeys(NAMES, "works"))))
    assert found is not None
    return found


def unit(**statuses: str) -> ConditionTable:
    return table_of(1, faults=same_columns(1, **(dict.fromkeys(NAMES, "works") | statuses)))


def states_of(term: FaultTerm, table: ConditionTable) -> set[str]:
    places = [int(place) for place in term.piece(table).places[0] if place >= 0]
    return {f"{thing}={state}" for thing, state, _ in map(term.states.state_at, places)}


def test_a_class_without_functions_has_no_term() -> None:
    assert fault_term(DeviceClass(name="brick"), {}) is None


def test_priors_come_from_the_class_by_weight_and_status(term: FaultTerm) -> None:
    prior = small_class().fault_prior.weights
    dead = FAULT_STATUSES.index("dead")
    for number, function in enumerate(small_class().functions):
        assert term.states.mean_log[number, dead] == prior[str(function.weight)]["dead"].mean_log


def test_what_hangs_on_a_failing_function_counts_once(term: FaultTerm) -> None:
    broken = unit(power_on="dead", camera_main="untested", wifi="dead", loudspeaker="impaired")
    assert states_of(term, broken) == {"power_on=dead", "loudspeaker=impaired"}


def test_a_removed_part_counts_even_when_what_it_hangs_on_fails(term: FaultTerm) -> None:
    broken = unit(power_on="dead", camera_wide="removed", wifi="dead")
    assert states_of(term, broken) == {"power_on=dead", "camera_wide=removed"}


@pytest.mark.parametrize("status", ["impaired", "untested"])
def test_a_gate_that_does_not_fail_takes_nothing_over(term: FaultTerm, status: str) -> None:
    assert states_of(term, unit(power_on=status, wifi="dead")) == {f"power_on={status}", "wifi=dead"}


def test_what_is_required_is_required_all_the_way_up() -> None:
    chain = DeviceClass(name="chain", functions=(
        Function(name="a"), Function(name="b", requires=("a",)), Function(name="c", requires=("b",)),
    ))  # fmt: skip
    found = fault_term(chain, count_words({"c": words("works")}))
    assert found is not None
    assert found.requires == ((), (0,), (0, 1))


def test_functions_that_require_each_other_do_not_hang_the_search() -> None:
    circle = DeviceClass(name="circle", functions=(
        Function(name="a", requires=("b",)), Function(name="b", requires=("a",)),
    ))  # fmt: skip
    found = fault_term(circle, {})
    assert found is not None
    assert found.requires == ((1,), (0,))


def test_several_adds_up_all_faults_but_the_heaviest(term: FaultTerm) -> None:
    weights = np.abs(term.states.mean_log)
    broken = unit(camera_main="dead", wifi="impaired", nfc="untested")
    sizes = [weights[NAMES.index(name), FAULT_STATUSES.index(status)]
             for name, status in (("wifi", "impaired"), ("nfc", "untested"))]  # fmt: skip
    assert term.piece(broken).dense[0, 0] == pytest.approx(sum(sizes))
    assert term.piece(unit(camera_main="dead")).dense[0, 0] == 0.0


def test_called_faulty_counts_only_where_no_fault_is_named(term: FaultTerm) -> None:
    sold = table_of(
        3, sold_as=["faulty", "faulty", "working"], faults={"wifi": ["works", "dead", "works"]}
    )
    assert term.piece(sold).dense[:, 1].tolist() == [1.0, 0.0, 0.0]


def test_the_dense_columns_have_prior_means_too(term: FaultTerm) -> None:
    builder = BlockBuilder(2 + term.hot_columns)
    term.describe(builder, 0, 2)
    table = builder.build()
    assert table.offset[:2].tolist() == [SEVERAL_MEAN_LOG, FAULTY_MEAN_LOG]
    assert table.names[:2] == ("several faults", "faulty")


def test_a_unit_may_be_told_with_each_gate_failing(term: FaultTerm) -> None:
    assert [term.named(reading) for reading in term.readings] == [
        (), (("power_on", "dead"),), (("power_on", "removed"),),
    ]  # fmt: skip


def test_gates_that_hang_on_each_other_are_not_told_together() -> None:
    functions = (
        Function(name="power"), Function(name="screen", requires=("power",)), Function(name="radio"),
        Function(name="touch", requires=("screen",)), Function(name="calls", requires=("radio",)),
    )  # fmt: skip
    found = fault_term(DeviceClass(name="set", functions=functions), {})
    assert found is not None
    gates = {tuple(sorted(gate for gate, _ in found.named(reading))) for reading in found.readings}
    assert gates == {(), ("power",), ("screen",), ("radio",), ("power", "radio"), ("radio", "screen")}


def test_a_gate_that_fails_as_told_or_is_not_fitted_keeps_its_word(term: FaultTerm) -> None:
    table = table_of(5, faults={"power_on": ["dead", "works", "removed", "not fitted", None]})
    as_told, dead, _ = term.may_be_told(table).tolist()
    assert as_told == [True] * 5
    assert dead == [False, True, False, False, True]
    assert term.tellings_of_one({"power_on": "dead", "wifi": "works"}) == [{"power_on": "dead", "wifi": "works"}]
    assert len(term.tellings_of_one({"power_on": "untested"})) == 3


def test_of_very_many_gates_those_that_most_hang_on_are_read() -> None:
    gates = tuple(Function(name=f"gate{number}") for number in range(9))
    hung = tuple(
        Function(name=f"hung{number}", requires=tuple(gate.name for gate in gates[number:])) for number in range(9)
    )
    found = fault_term(DeviceClass(name="fort", functions=(*gates, *hung)), {})
    assert found is not None
    assert len(found.readings) == 3**5
    assert found.named(found.readings[-1])[-1][0] == "gate8"


def test_no_unit_with_a_failing_gate_counts_more_than_the_highest(term: FaultTerm) -> None:
    rng = np.random.default_rng(4)
    effects = np.append([0.03, 0.0], -rng.random(term.hot_columns) - 0.1)
    for _ in range(50):
        statuses = {name: str(rng.choice(["works", "impaired", "dead", "untested"])) for name in NAMES}
        piece = term.piece(unit(**statuses | {"power_on": "dead"}))
        counted = piece.dense[0] @ effects[:2] + effects[2:][piece.places[0][piece.places[0] >= 0]].sum()
        assert counted <= term.highest_failing(effects) + 1e-12


def test_telling_a_function_otherwise_changes_those_rows_alone() -> None:
    table = table_of(3, faults={"wifi": ["dead", "dead", None], "nfc": ["dead"] * 3})
    again = told(table, [("wifi", "untested"), ("power_on", "dead")], np.array([1]))
    assert [again.faults["wifi"].word(row) for row in range(3)] == ["dead", "untested", None]
    assert [again.faults["power_on"].word(row) for row in range(3)] == [None, "dead", None]
    assert again.faults["nfc"] is table.faults["nfc"]
    assert table.faults["wifi"].word(1) == "dead"


def test_bounds_hold_for_a_fault_alone_and_as_one_of_several(term: FaultTerm) -> None:
    rows = term.sign_rows(1, 3)
    camera = 3 + NAMES.index("camera_main") * WIDTH
    dead, untested = camera + FAULT_STATUSES.index("dead"), camera + FAULT_STATUSES.index("untested")
    weight = abs(float(term.states.mean_log[NAMES.index("camera_main"), FAULT_STATUSES.index("dead")]))
    assert {2: -1.0} in rows
    assert {dead: -1.0} in rows
    assert {dead: -1.0, 1: -weight} in rows
    assert {untested: 1.0, dead: -1.0} in rows
