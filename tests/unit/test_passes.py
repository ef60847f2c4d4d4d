from __future__ import annotations

import os

import numpy as np
import pytest

from pricing.hedonic.design import Design, learn_design
from pricing.hedonic.gram import sales_moments
from pricing.hedonic.passes import over_blocks
from pricing.hedonic.summary import summarise
from pricing.records.sales_table import SalesTable
from tests.builders import small_class

SIZE = 50


@pytest.fixture(scope="module")
def design(sales: SalesTable) -> Design:
    return learn_design(summarise(sales, small_class()), small_class())


def dense_blocks(design: Design, sales: SalesTable, size: int) -> list[tuple[slice, np.ndarray]]:
    return list(
        over_blocks(lambda part, raw: (part, raw.to_dense()), design, sales.condition, sales.asked, size)
    )


@pytest.mark.parametrize("cores", [1, 2, 16])
def test_blocks_come_in_order_whatever_the_number_of_threads(
    design: Design, sales: SalesTable, cores: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "cpu_count", lambda: cores)
    blocks = dense_blocks(design, sales, SIZE)
    assert [part.start for part, _ in blocks] == list(range(0, sales.rows, SIZE))
    whole = design.rows(sales.condition, sales.asked).to_dense()
    assert np.array_equal(np.vstack([rows for _, rows in blocks]), whole)


def test_sums_are_the_same_bits_with_one_thread_and_with_several(
    design: Design, sales: SalesTable, monkeypatch: pytest.MonkeyPatch
) -> None:
    many = sales.take(np.resize(np.arange(sales.rows), 40_000))
    found = []
    for cores in (1, 4):
        monkeypatch.setattr(os, "cpu_count", lambda cores=cores: cores)
        found.append(sales_moments(design, many, np.log(many.price)).rtr)
    assert np.array_equal(*found)


def test_no_rows_are_no_blocks(design: Design, sales: SalesTable) -> None:
    assert dense_blocks(design, sales.take(np.empty(0, dtype=np.intp)), SIZE) == []


def test_an_error_in_one_block_reaches_the_caller(design: Design, sales: SalesTable) -> None:
    def fail_late(part: slice, _raw: object) -> int:
        if part.start == 2 * SIZE:
            raise ValueError("the third block")
        return part.start

    with pytest.raises(ValueError, match="third"):
        list(over_blocks(fail_late, design, sales.condition, sales.asked, SIZE))
