"""Houses of a neighbourhood that no sale was in: each neighbourhood of Ames left out in turn, priced as unseen.

By default without interactions and trees, because choosing them 28 times takes minutes.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from data.catalogue.reader import read_class
from pricing.estimation.estimate import estimate_columns
from pricing.hedonic.fit import CORE, FitSettings, fit_model
from tests.counts import count
from tests.external.frames import sales_of
from tests.external.real_data.five_fold import HERE, SETS
from tests.figures import keep

LEVELS = (80, 90, 95)
SLACK = 0.03
SETTINGS = FitSettings() if count(1000) == 1000 else CORE


@cache
def shares_covered() -> dict[str, list[float]]:
    """Return for each neighbourhood the shares of its prices inside the intervals, and its number of houses."""
    frame = SETS["ames"]().reset_index(drop=True)
    device_class = read_class(HERE / "ames.toml")
    found = {}
    for name, mine in frame.groupby("Neighborhood", observed=True).groups.items():
        model = fit_model(sales_of(frame.drop(index=mine).reset_index(drop=True)), device_class, settings=SETTINGS)
        units = sales_of(frame.loc[mine].reset_index(drop=True))
        told = estimate_columns(model, units.condition, always=True)
        assert set(told.support) == {"unseen"}
        inside = [(told.low[level] <= units.price) & (units.price <= told.high[level]) for level in LEVELS]
        found[str(name)] = [*(float(np.mean(each)) for each in inside), float(len(mine))]
    return found


def test_the_figures_of_each_neighbourhood_are_kept() -> None:
    lines = [f"| neighbourhood | houses | {' | '.join(f'{level} %' for level in LEVELS)} |", "|---|---|---|---|---|"]
    for name, (*shares, houses) in shares_covered().items():
        lines.append(f"| {name} | {houses:.0f} | {' | '.join(f'{100 * share:.1f}' for share in shares)} |")
    keep("unseen_neighbourhoods", "\n".join(lines))
    assert len(lines) == 2 + 28


@pytest.mark.parametrize("level", LEVELS)
def test_a_neighbourhood_left_out_is_covered_on_average(level: int) -> None:
    shares = [each[LEVELS.index(level)] for each in shares_covered().values()]
    assert np.mean(shares) >= level / 100 - SLACK
