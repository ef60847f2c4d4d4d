"""Records from a user's answers: each wrong answer is a problem, none a traceback."""

from __future__ import annotations

from datetime import date

import pytest

from api.shop.stating import stated
from pricing.errors import BadInput
from pricing.records.purchase import Proof

GOOD = {"kind": "tax invoice", "reference": "D-1", "dated": date(2026, 5, 4)}


def test_right_answers_make_the_record():
    assert stated(Proof, "proof", GOOD).reference == "D-1"


def test_every_wrong_answer_is_named():
    with pytest.raises(BadInput) as refused:
        stated(Proof, "proof", {**GOOD, "kind": "a promise", "reference": "", "color": "red"})
    named = {problem.column: problem for problem in refused.value.problems}
    assert set(named) == {"kind", "reference", "color"}
    assert named["kind"].found == '"a promise"'
    assert all(problem.source == "proof" for problem in named.values())
