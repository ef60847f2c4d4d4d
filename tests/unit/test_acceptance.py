"""A buyer's answer counts when every line is accepted; who the buyer is stays out of it."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from pricing.records.acceptance import Acceptance

LINES = [{"number": 1, "text": "Wi-Fi is dead.", "accepted": True}, {"number": 2, "text": "Opened.", "accepted": True}]


def answer(**changes):
    given = {"buyer": "2026-0041", "way": "checkout", "text_digest": "a" * 64, "lines": LINES}
    return Acceptance.model_validate({**given, **changes})


def test_one_line_that_is_not_accepted_leaves_the_whole_incomplete():
    assert answer().complete
    assert answer(lines=[]).complete
    assert not answer(lines=[LINES[0], {**LINES[1], "accepted": False}]).complete


@pytest.mark.parametrize("buyer", ["2026-0041", "A7", "order/55.2", "7"])
def test_a_reference_has_a_number_in_it(buyer):
    assert answer(buyer=buyer).buyer == buyer


@pytest.mark.parametrize("buyer", ["", "Somebody", "Some Body 2", "a1@mail.example", "x" * 65 + "1", "1\n", "<b>1"])
def test_names_and_addresses_are_no_reference(buyer):
    with pytest.raises(ValidationError):
        answer(buyer=buyer)
