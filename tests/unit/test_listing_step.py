"""The life of a listing: which step follows which, what counts as its text, and how long an answer holds."""

from __future__ import annotations

import pytest
from pydantic import TypeAdapter, ValidationError

from pricing.errors import ListingRefused
from pricing.records.finding import Finding
from pricing.records.listing_step import (
    Checked,
    Edited,
    FindingAnswer,
    ListingStep,
    RaisedFinding,
    ReadBack,
    Sold,
    Withdrawn,
    answer_to,
    check_may,
    state_of,
    text_after,
)

DIGEST = "a" * 64
SOFT = Finding(kind="superlative", start=0, end=8, fact="grade", suggestion="Grade B.", hard=False)
RAISED = RaisedFinding(finding=SOFT, said="flawless", fact_digest=DIGEST)
ANSWER = FindingAnswer(
    kind="superlative", fact="grade", said="flawless", fact_digest=DIGEST, reason="the name of the colour", by="desk"
)


def checked(*findings, stops=()):
    return Checked(text_digest=DIGEST, unit_version=1, findings=findings, stops=stops)


def raised(hard, answer=None):
    return RaisedFinding(finding=SOFT.model_copy(update={"hard": hard}), said="x", fact_digest=None, answer=answer)


@pytest.mark.parametrize(
    ("check", "state"),
    [
        (checked(), "checked"),
        (checked(raised(hard=False, answer="so it is")), "checked"),
        (checked(raised(hard=False)), "draft"),
        (checked(raised(hard=True, answer="so it is")), "draft"),
        (checked(stops=("locked",)), "draft"),
    ],
)
def test_only_a_check_that_leaves_nothing_open_makes_a_listing_checked(check, state):
    assert state_of([check]) == state


def test_an_edit_makes_it_a_draft_again_and_answers_change_no_state():
    assert state_of([]) == "draft"
    assert state_of([checked(), Edited(text="other")]) == "draft"
    assert state_of([checked(), ANSWER]) == "checked"
    sold = [checked(), Sold(by="desk"), ReadBack(text_digest=DIGEST, same="changed", findings=2)]
    assert state_of(sold) == "sold"


@pytest.mark.parametrize(
    ("did", "allowed"),
    [
        ("edited", {"draft", "checked"}),
        ("answered", {"draft", "checked"}),
        ("checked", {"draft", "checked"}),
        ("published", {"checked"}),
        ("read back", {"published", "sold", "withdrawn"}),
        ("sold", {"published"}),
        ("withdrawn", {"draft", "checked", "published"}),
    ],
)
def test_each_step_is_possible_from_its_states_only(did, allowed):
    for state in ("draft", "checked", "published", "sold", "withdrawn"):
        if state in allowed:
            check_may(did, state, 7)
        else:
            with pytest.raises(ListingRefused, match=f"listing 7 is {state}; to be {did}"):
                check_may(did, state, 7)


def test_the_last_edit_is_the_text():
    steps = [Edited(text="one"), checked(), Edited(text="two"), ANSWER]
    assert text_after("ours", steps) == "two"
    assert text_after("ours", [checked()]) == "ours"


@pytest.mark.parametrize(
    "changed",
    [
        {"said": "immaculate"},
        {"fact_digest": "b" * 64},
        {"fact_digest": None},
        {"finding": SOFT.model_copy(update={"hard": True})},
        {"finding": SOFT.model_copy(update={"kind": "weakened"})},
        {"finding": SOFT.model_copy(update={"fact": "opened"})},
    ],
)
def test_an_answer_holds_for_the_same_words_and_the_same_fact_only(changed):
    assert answer_to(RAISED, [ANSWER]) == "the name of the colour"
    assert answer_to(RAISED.model_copy(update=changed), [ANSWER]) is None


def test_the_latest_answer_counts_wherever_the_words_stand():
    moved = RAISED.model_copy(update={"finding": SOFT.model_copy(update={"start": 40, "end": 48})})
    later = ANSWER.model_copy(update={"reason": "a quotation"})
    assert answer_to(moved, [ANSWER, later]) == "a quotation"


def test_every_step_is_read_back_as_what_it_was():
    read = TypeAdapter[ListingStep](ListingStep)
    for step in (Edited(text="x"), ANSWER, checked(RAISED), Sold(by="desk"), Withdrawn(reason="broken", by="desk")):
        assert read.validate_json(read.dump_json(step)) == step


@pytest.mark.parametrize("answer", [{"reason": "   "}, {"reason": ""}, {"by": " "}, {"fact_digest": "x"}])
def test_an_answer_without_words_is_none(answer):
    with pytest.raises(ValidationError):
        FindingAnswer.model_validate({**ANSWER.model_dump(), **answer})
