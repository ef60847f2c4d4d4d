"""Brands that no sale had: the intervals must still hold."""

from __future__ import annotations

import numpy as np
import pytest

from data.demo.generate import generate
from pricing.hedonic.fit import fit_model
from tests.counts import count
from tests.figures import keep

CLASSES = ("phone", "laptop", "console")
DRAWS = 400
ROWS = 2000


@pytest.mark.parametrize("name", CLASSES)
def test_a_brand_never_seen_is_covered_by_the_80_percent_interval(name: str) -> None:
    shares: list[float] = []
    seed = 0
    while len(shares) < -(-count(DRAWS) // len(CLASSES)):
        demo = generate(seed, rows={name: ROWS}, redraw_brands=True)
        seed += 1
        sales = demo.tables[name]
        brands = sales.condition.texts["brand"]
        for code in range(len(brands.levels)):
            mine = brands.codes == code
            held = sales.take(np.flatnonzero(mine & ~sales.asked & ~sales.refunded))
            if held.rows < 3:
                continue
            model = fit_model(sales.take(np.flatnonzero(~mine)), demo.device_classes[name])
            low, high = model.interval(model.predict(model.dated(held.condition, None)), 80)
            shares.append(float(np.mean((low <= held.price) & (held.price <= high))))
    share = float(np.mean(shares))
    keep(f"unseen_brands_{name}", f"80 % intervals of {len(shares)} brands left out cover {100 * share:.1f} %")
    # A tenth of the draws knows the mean only to about 4 points (brands differ as a whole).
    slack = 0.0 if count(DRAWS) == DRAWS else 0.06
    assert 0.77 - slack <= share <= 0.88 + slack
