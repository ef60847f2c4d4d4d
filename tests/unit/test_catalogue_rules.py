from __future__ import annotations

import pytest

from data.catalogue.reader import class_from_text
from pricing.errors import BadInput
from pricing.records.lot_rates import FaultShares, LotRates
from pricing.records.waiting import WaitingAssumption

KETTLE = '[class]\nname = "kettle"\n[[function]]\nname = "boils"\n'


def test_a_class_without_the_tables_has_the_defaults():
    kettle = class_from_text(KETTLE, "kettle.toml")
    assert (kettle.waiting, kettle.lot_rates) == (WaitingAssumption(), LotRates())


def test_what_a_table_leaves_out_keeps_its_default():
    text = KETTLE + "[waiting]\nmedian_days = 40\n[lot]\nmissing = 0.1\n[lot.gates]\ndead = 0.3\n"
    text += "[lot.own.boils]\ndead = 0.2\n"
    kettle = class_from_text(text, "kettle.toml")
    assert kettle.waiting == WaitingAssumption(median_days=40)
    assert kettle.lot_rates.missing == 0.1
    assert kettle.lot_rates.gates == FaultShares(dead=0.3, impaired=0.04)
    assert kettle.lot_rates.own["boils"] == FaultShares(dead=0.2)


@pytest.mark.parametrize(
    ("added", "line", "column"),
    [
        ("waiting = 3\n", 5, "waiting"),
        ("[waiting]\nmedian_days = 0\n", 6, "waiting.median_days"),
        ("[waiting]\nsteepness = -1\n", 6, "waiting.steepness"),
        ("[waiting]\nsteep = 1\n", 6, "waiting.steep"),
        ("[lot]\nmissing = -0.1\n", 6, "lot.missing"),
        ("[lot]\nmissing = 0.6\nlocked = 0.6\n", 5, "lot"),
        ("[lot.gates]\ndead = 0.9\nimpaired = 0.3\n", 5, "lot.gates"),
        ("[lot.own.sings]\ndead = 0.2\n", 5, "lot.own.sings"),
        ("[lot]\nweight = 0\n", 6, "lot.weight"),
    ],
)
def test_what_cannot_be_is_refused_with_its_place(added, line, column):
    text = added + KETTLE if added.startswith("waiting =") else KETTLE + added
    with pytest.raises(BadInput) as refused:
        class_from_text(text, "kettle.toml")
    problem = refused.value.problems[0]
    assert problem.column == column
    assert problem.line == (1 if added.startswith("waiting =") else line)
