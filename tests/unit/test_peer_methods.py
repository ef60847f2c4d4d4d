"""Every peer prices every unit; needs the extra ``bench``."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

for package in ("lightgbm", "mapie", "ngboost", "quantile_forest"):
    pytest.importorskip(package)

from tests.benchmarks.peer_methods import PEERS, largest_group, settings_tried  # noqa: E402 - after the check
from tests.benchmarks.peer_runs import parts_of, run_fold  # noqa: E402

ROWS = 120


@pytest.fixture(scope="module")
def frame() -> pd.DataFrame:
    """Return sales of six brands whose prices are known to about 5 %."""
    rng = np.random.default_rng(4)
    size, brand = rng.uniform(1, 3, ROWS), rng.integers(0, 6, ROWS)
    price = np.exp(4 + 0.5 * size + 0.1 * brand + rng.normal(0, 0.05, ROWS))
    return pd.DataFrame({"price": price, "size": size, "brand": [f"b{number}" for number in brand]})


@pytest.mark.parametrize("name", PEERS)
def test_a_peer_gives_every_unit_intervals_that_hold_most_prices_also_of_a_brand_never_seen(
    name: str, frame: pd.DataFrame
) -> None:
    train, held = next(parts_of(frame, 5, 1))
    held.loc[0, "brand"] = "never seen"
    found = run_fold(PEERS[name](settings_tried(name, len(train))[0]), train, held)
    assert found.rows == len(held) == ROWS // 5
    assert found.inside[50] <= found.inside[95] >= 0.7 * len(held)
    assert found.error < 0.15
    assert found.fit_seconds > 0 < found.price_seconds


@pytest.mark.parametrize("rows", [113, 2000])
def test_whatever_has_settings_is_tried_with_several_of_them_and_each_once(rows: int) -> None:
    for name in PEERS:
        tried = settings_tried(name, rows)
        assert len({str(each) for each in tried}) == len(tried)
        assert len(tried) >= 8 or name in ("ols", "mixedlm")


def test_the_largest_group_has_the_most_levels_and_never_fewer_than_five(frame: pd.DataFrame) -> None:
    assert largest_group(frame.assign(look="new")) == "brand"
    assert largest_group(frame[frame["brand"].isin(["b1", "b2"])]) is None


def test_each_row_is_held_out_once_in_each_repeat(frame: pd.DataFrame) -> None:
    parts = list(parts_of(frame, 5, 2))
    for repeat in (parts[:5], parts[5:]):
        held = np.sort(np.concatenate([each["price"].to_numpy() for _, each in repeat]))
        assert held.tolist() == sorted(frame["price"])
    assert parts[0][1]["price"].tolist() != parts[5][1]["price"].tolist()
