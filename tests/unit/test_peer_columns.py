"""Columns for the peers: every coding knows what to do with a level that no training row has."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from pricing.records.device_class import DeviceClass
from tests.benchmarks.peer_columns import learn_columns, logged

TRAIN = pd.DataFrame({"size": [1.0, 2.0, 3.0, 4.0], "look": ["b", "a", "c", "c"]})
PRICE_LOG = np.array([3.0, 1.0, 2.0, 2.0])
HELD = pd.DataFrame({"size": [5, 6], "look": ["c", "unheard of"]})


@pytest.mark.parametrize(
    ("coding", "expected"),
    [
        ("one-hot", [[5, 0, 0, 1], [6, 0, 0, 0]]),
        ("reference", [[1, 5, 0, 1], [1, 6, 0, 0]]),
        ("codes", [[5, 2], [6, 3]]),
        ("ordered", [[5, 1], [6, 1]]),  # by mean log price: a, c, b; the unknown level gets the middle
    ],
)
def test_a_held_out_row_is_coded_as_the_training_rows_were(coding: str, expected: list[list[float]]) -> None:
    assert learn_columns(TRAIN, PRICE_LOG, coding).matrix(HELD).tolist() == expected


def test_ordered_codes_follow_the_price() -> None:
    found = learn_columns(TRAIN, PRICE_LOG, "ordered").matrix(TRAIN)
    assert found[:, 1].tolist() == [2, 0, 1, 1]


def test_only_codes_name_columns_of_level_numbers() -> None:
    assert learn_columns(TRAIN, PRICE_LOG, "codes").places_of_codes == [1]
    assert learn_columns(TRAIN, PRICE_LOG, "one-hot").places_of_codes == []


def test_numbers_on_a_log_scale_in_the_class_are_given_to_the_peers_as_logs() -> None:
    attributes = [{"name": "size", "kind": "number", "scale": "log"}, {"name": "look", "kind": "choice"}]
    found = logged(TRAIN, DeviceClass.model_validate({"name": "set", "attributes": attributes}))
    assert np.exp(found["size"]).tolist() == pytest.approx([1, 2, 3, 4])
    assert found["look"].equals(TRAIN["look"])
