from __future__ import annotations

import pytest

from pricing.hedonic.blocks import UNPENALISED, Block, BlockBuilder


def test_a_coefficient_enters_the_raw_columns_with_its_factors() -> None:
    builder = BlockBuilder(4)
    shared = builder.add_block(Block("shared"))
    own = builder.add_block(Block("own", "pooled", 3.0))
    builder.add_coefficient("constant", UNPENALISED, [0], [1.0])
    builder.add_coefficient("mean", shared, [1, 2, 3], [0.5, 0.5, 2.0])
    builder.add_coefficient("deviation", own, [2], [0.1])
    table = builder.build()
    assert table.to_raw.toarray().tolist() == [[1, 0, 0], [0, 0.5, 0], [0, 0.5, 0.1], [0, 2.0, 0]]
    assert table.block_of.tolist() == [UNPENALISED, shared, own]
    assert table.names == ("constant", "mean", "deviation")
    assert [block.name for block in table.blocks] == ["shared", "own"]


def test_offsets_and_lonely_columns_start_at_nothing() -> None:
    table = BlockBuilder(3).build()
    assert table.offset.tolist() == [0.0, 0.0, 0.0]
    assert table.lonely_block.tolist() == [UNPENALISED] * 3
    assert table.to_raw.shape == (3, 0)


def test_columns_and_factors_must_be_equally_many() -> None:
    with pytest.raises(ValueError, match="zip"):
        BlockBuilder(2).add_coefficient("wrong", UNPENALISED, [0, 1], [1.0])
