"""Fault statuses that no sale had: the intervals must still hold, and the effect is not 0."""

from __future__ import annotations

import numpy as np
import pytest

from data.demo.generate import generate
from pricing.hedonic.fit import fit_model
from pricing.records.device_class import FAULT_STATUSES
from tests.counts import count
from tests.figures import keep

CLASSES = ("phone", "laptop", "console")
WITHHELD = 240
ROWS = 2000


@pytest.mark.parametrize("name", CLASSES)
def test_a_status_withheld_from_the_fit_is_covered_and_is_not_0(name: str) -> None:
    shares: list[float] = []
    weights: list[int] = []
    seed = 0
    while len(shares) < -(-count(WITHHELD) // len(CLASSES)):
        demo = generate(seed, rows={name: ROWS}, redraw_brands=True)
        sales = demo.tables[name]
        pairs = sorted(demo.truth.fault_pairs(name))
        for chosen in np.random.default_rng(seed).choice(len(pairs), 4, replace=False):
            function, status = pairs[chosen][:2]
            column = sales.condition.faults[function]
            if status not in column.levels:
                continue
            mine = column.codes == column.levels.index(status)
            held = sales.take(np.flatnonzero(mine & ~sales.asked & ~sales.refunded))
            if held.rows == 0:
                continue
            model = fit_model(sales.take(np.flatnonzero(~mine)), demo.device_classes[name])
            term = model.design.faults
            first = model.design.places[model.design.terms.index(term)].hot
            place = term.states.things.index(function) * term.states.width + FAULT_STATUSES.index(status)
            assert model.effects[first + place] < -0.005
            low, high = model.interval(model.predict(model.dated(held.condition, None)), 80)
            shares.append(float(np.mean((low <= held.price) & (held.price <= high))))
            weights.append(held.rows)
        seed += 1
    share = float(np.average(shares, weights=weights))
    keep(f"withheld_statuses_{name}", f"80 % intervals of {len(shares)} withheld statuses cover {100 * share:.1f} %")
    assert share >= 0.77
