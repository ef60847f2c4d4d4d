from __future__ import annotations

import numpy as np
import pytest

from pricing.hedonic.condition_terms import lock_term, mark_term, part_term
from pricing.hedonic.counts import count_words
from pricing.records.device_class import DeviceClass
from tests.builders import small_class
from tests.market import table_of

SOLD = table_of(
    3,
    marks={"screen": ["crack", "none", None]},
    locks={"owner_account": ["locked", "free", "not checked"]},
    parts={"cell": ["third-party", "original", None]},
)


def test_a_class_without_surfaces_locks_or_parts_has_no_terms() -> None:
    bare = DeviceClass(name="bare")
    assert [term(bare, {}) for term in (mark_term, lock_term, part_term)] == [None] * 3


def test_every_surface_can_have_every_kind_of_mark() -> None:
    term = mark_term(small_class(), count_words(SOLD.marks))
    assert term is not None
    assert term.things == ("screen", "back_panel")
    assert term.states == tuple(small_class().fault_prior.marks)
    assert term.pooled
    assert np.array_equal(term.mean_log[0], term.mean_log[1])
    crack = term.states.index("crack")
    assert term.mean_log[0, crack] == small_class().fault_prior.marks["crack"].mean_log
    assert term.sales[:, crack].tolist() == [1, 0]


def test_a_lock_that_nobody_checked_is_the_quiet_state() -> None:
    term, prior = lock_term(small_class(), count_words(SOLD.locks)), small_class().fault_prior
    assert term is not None
    assert (term.states, term.quiet) == (("locked", "not checked"), ("not checked",))
    assert not term.pooled
    assert term.mean_log[1].tolist() == [prior.locked.mean_log, prior.not_checked.mean_log]
    assert term.sales.tolist() == [[1, 1, 0], [0, 0, 0]]


def test_a_part_of_another_origin_has_the_prior_of_that_origin() -> None:
    term, prior = part_term(small_class(), count_words(SOLD.parts)), small_class().fault_prior
    assert term is not None
    assert term.states == ("third-party", "salvaged")
    assert term.sd_log[2] == pytest.approx([prior.third_party.sd_log, prior.salvaged.sd_log])
    assert term.sales[2].tolist() == [1, 0, 1]
