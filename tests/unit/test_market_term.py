from __future__ import annotations

import numpy as np

from pricing.hedonic.blocks import UNPENALISED, BlockBuilder
from pricing.hedonic.market_term import MarketTerm, sold_for_parts
from tests.market import table_of

SOLD = table_of(3, sold_as=["parts", None, "working"])


def test_columns_say_asked_and_sold_for_parts() -> None:
    piece = MarketTerm(asked=True, parts=True).piece(SOLD, np.array([False, True, False]))
    assert piece.dense.tolist() == [[0, 1], [1, 0], [0, 0]]


def test_a_unit_to_be_priced_is_not_asked() -> None:
    assert MarketTerm(asked=True, parts=False).piece(SOLD, None).dense.tolist() == [[0], [0], [0]]


def test_without_such_sales_there_is_no_column() -> None:
    term = MarketTerm(asked=False, parts=False)
    assert term.dense_columns == 0
    assert term.piece(SOLD, None).dense.shape == (3, 0)


def test_its_coefficients_are_free() -> None:
    builder = BlockBuilder(2)
    MarketTerm(asked=True, parts=True).describe(builder, 0, 2)
    table = builder.build()
    assert table.names == ("asked", "sold for parts")
    assert table.block_of.tolist() == [UNPENALISED] * 2


def test_nothing_is_sold_for_parts_where_nobody_said_so() -> None:
    assert sold_for_parts(SOLD).tolist() == [True, False, False]
    assert not sold_for_parts(table_of(2)).any()
    assert not sold_for_parts(table_of(2, sold_as=["faulty", None])).any()
