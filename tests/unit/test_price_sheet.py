"""The price sheet repeats what it is given and writes plain decimals."""

from __future__ import annotations

import re
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.shop.price_sheet import NUMBER_COLUMNS, PRICE_COLUMNS, plain_decimal, sheet_rows
from pricing.estimation.estimate import EstimateColumns

LEVELS = (50, 80, 90, 95)


def priced(rows):
    ends = {level: np.full(rows, float(level)) for level in LEVELS}
    silent = np.arange(rows) == 1
    return EstimateColumns(
        estimate=np.where(silent, np.nan, 100.0),
        expected=np.where(silent, np.nan, 101.5),
        low=ends,
        high=ends,
        support=("seen",) * rows,
        abstained=tuple("too far" if row else None for row in silent.tolist()),
    )


def test_the_columns_are_those_of_the_contract():
    assert PRICE_COLUMNS == (
        "estimate", "expected", "low_50", "high_50", "low_80", "high_80", "low_90", "high_90", "low_95", "high_95",
        "support", "abstained",
    )  # fmt: skip


def test_every_unit_keeps_its_cells_its_place_and_its_reason():
    cells = (("a", " 1,5 "), ("b", ""), ("c", "x"))
    sheet = tuple(sheet_rows(cells, {2: "line 4: found x"}, priced(3)))
    assert [row[:2] for row in sheet] == list(cells)
    assert sheet[0][2:4] == ("100", "101.5")
    assert sheet[1][2:4] == ("", "")
    assert sheet[1][-2:] == ("seen", "too far")
    assert sheet[2][2:] == ("",) * (len(NUMBER_COLUMNS) + 1) + ("line 4: found x",)


@given(st.floats(min_value=1e-12, max_value=1e15))
def test_a_number_is_plain_and_exact_to_ten_digits(number):
    written = plain_decimal(number)
    assert re.fullmatch(r"\d+(\.\d+)?", written)
    assert float(written) == pytest.approx(number, rel=5.1e-10)
    assert len(Decimal(written).normalize().as_tuple().digits) <= 10


def test_no_number_is_an_empty_cell():
    assert plain_decimal(float("nan")) == ""
