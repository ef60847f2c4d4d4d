from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pricing.hedonic.blocks import UNPENALISED, BlockBuilder, BlockTable
from pricing.hedonic.counts import count_words
from pricing.hedonic.state_term import KIN_SHARE, SILENT_SCALE_LOG, StateTerm, counted_sales
from tests.market import table_of, words

STATES = ("dead", "untested")
COLUMNS = {
    "lens": words("works", "dead", None, "dead", "untested"),
    "radio": words("works", "works", None, "works", None),
}


def term_of(pooled: bool = True) -> StateTerm:
    """Return a term of three things, of which sales mention the first two."""
    things = ("lens", "radio", "horn")
    sales, tracked = counted_sales(things, STATES, count_words(COLUMNS))
    mean = np.array([[-0.5, -0.2], [-0.1, -0.04], [-0.1, -0.04]])
    return StateTerm(
        kind="faults",
        things=things,
        states=STATES,
        quiet=("untested",),
        mean_log=mean,
        sd_log=0.7 * np.abs(mean),
        labels=np.array([[3, 4], [1, 2], [1, 2]]),
        kins=("camera", "sound", "sound"),
        own_share=0.5,
        sales=sales,
        tracked=tracked,
        pooled=pooled,
    )


def described(term: StateTerm) -> BlockTable:
    builder = BlockBuilder(term.hot_columns)
    term.describe(builder, 0, 0)
    return builder.build()


def test_sales_are_counted_by_state_with_the_silent_last() -> None:
    term = term_of()
    assert term.sales.tolist() == [[2, 1, 1], [0, 0, 2], [0, 0, 0]]
    assert term.tracked.tolist() == [True, True, False]


def test_several_marks_count_for_each_and_covered_counts_as_silent() -> None:
    columns = {"screen": words("dent+scratch", "covered", "none", "dent", None)}
    sales, tracked = counted_sales(("screen", "back"), ("dent", "scratch"), count_words(columns))
    assert sales.tolist() == [[2, 1, 2], [0, 0, 0]]
    assert tracked.tolist() == [True, False]


def test_each_thing_has_one_place_for_each_state_and_one_for_silence() -> None:
    units = table_of(3, faults={"lens": ["dead", "works", None], "radio": [None, "untested", "dead"]})
    places = term_of().piece(units).places
    assert places.tolist() == [[0, 5, -1], [-1, 4, -1], [2, 3, -1]]


def test_a_thing_that_no_sale_mentioned_is_moved_by_loud_states_only() -> None:
    units = table_of(3, faults={"horn": ["untested", "dead", None]})
    assert term_of().piece(units).places[:, 2].tolist() == [-1, 6, -1]


def test_two_marks_on_one_surface_take_two_places_and_a_covered_one_is_silent() -> None:
    term = replace(term_of(), kind="marks", states=("dent", "scratch"), quiet=())
    places = term.piece(table_of(3, marks={"lens": ["dent+scratch", "covered", "none"]})).places
    assert places[:, :2].tolist() == [[0, 1], [2, -1], [-1, -1]]


def test_an_effect_is_a_label_a_kin_and_its_own_deviation_round_its_prior_mean() -> None:
    term = term_of()
    table = described(term)
    raw = table.to_raw.toarray()
    assert table.offset.reshape(3, 3)[:, :2].tolist() == term.mean_log.tolist()
    labels = raw[:, [name.startswith("faults: label 1") for name in table.names]].ravel()
    assert labels.reshape(3, 3)[:, 0] == pytest.approx([0.0, 0.07, 0.07])
    sound = raw[:, table.names.index("faults: kin sound")].reshape(3, 3)
    assert sound[:, :2] == pytest.approx(KIN_SHARE * np.array([[0, 0], [0.1, 0.04], [0.1, 0.04]]))
    own = raw[:, table.names.index("faults:lens=dead")]
    assert own.tolist() == [0.25, *[0.0] * 8]


def test_a_state_without_sales_has_no_coefficient_but_a_spread_of_its_own() -> None:
    table = described(term_of())
    assert "faults:horn=dead" not in table.names
    blocks = [table.blocks[number].name if number != UNPENALISED else "" for number in table.lonely_block]
    assert blocks == ["", "", ""] + ["faults: own"] * 2 + [""] + ["faults: own"] * 2 + [""]
    assert table.lonely_scale == pytest.approx([0, 0, 0, 0.05, 0.02, 0, 0.05, 0.02, 0])


def test_silence_has_a_small_effect_of_its_own_where_sales_were_silent() -> None:
    table = described(term_of())
    columns = [number for number, name in enumerate(table.names) if name.endswith("not stated")]
    assert [table.names[number] for number in columns] == ["faults:lens: not stated", "faults:radio: not stated"]
    assert table.to_raw.toarray()[[2, 5], columns].tolist() == [SILENT_SCALE_LOG] * 2


def test_without_pooling_each_effect_has_its_own_prior_alone() -> None:
    term = term_of(pooled=False)
    table = described(term)
    chosen = [number for number, name in enumerate(table.names) if "=" in name]
    assert table.to_raw.toarray()[:, chosen].sum(axis=1).reshape(3, 3)[:, :2] == pytest.approx(term.sd_log)
    assert {table.blocks[table.block_of[number]].kind for number in chosen} == {"fixed"}


def test_no_state_raises_the_price() -> None:
    rows = term_of().sign_rows(10)
    assert rows == [{10 + place: -1.0} for place in (0, 1, 3, 4, 6, 7)]


def test_silence_and_quiet_states_are_no_worse_than_loud_ones() -> None:
    rows = term_of().order_rows(10)
    assert rows == [{11: 1.0, 10: -1.0}, {12: 1.0, 10: -1.0}, {14: 1.0, 13: -1.0}, {15: 1.0, 13: -1.0}]


def test_a_place_tells_thing_state_and_sales() -> None:
    term = term_of()
    assert term.state_at(0) == ("lens", "dead", 2)
    assert term.state_at(5) == ("radio", "not stated", 2)


def test_tables_with_other_words_are_read_apart() -> None:
    term = term_of()
    for cells in (["dead", None], ["works", "dead"], ["dead", "works"], ["untested", "dead"], ["dead", None]):
        numbers = {"dead": 0, "untested": 1, "works": -1, None: 2}
        places = term.piece(table_of(2, faults={"lens": cells})).places[:, 0]
        assert places.tolist() == [numbers[cell] for cell in cells]
