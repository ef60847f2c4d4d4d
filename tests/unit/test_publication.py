"""Facts that are not as they were when a listing was published."""

from __future__ import annotations

from hashlib import sha256

from pricing.records.publication import FactChange, KeptFact, changed_facts


def fact(key, says):
    return KeptFact(key=key, says=says, digest=sha256(says.encode()).hexdigest())


WIFI, SCREEN, ASK = fact("function:wifi", "Wi-Fi: works"), fact("mark:screen:crack", "screen: crack"), fact("ask", "80")


def test_changed_gone_and_new_facts_are_told_with_both_their_states():
    dead = fact("function:wifi", "Wi-Fi: dead")
    assert changed_facts([WIFI, ASK], [dead, SCREEN]) == (
        FactChange(key="function:wifi", before="Wi-Fi: works", now="Wi-Fi: dead"),
        FactChange(key="ask", before="80", now=None),
        FactChange(key="mark:screen:crack", before=None, now="screen: crack"),
    )


def test_another_order_or_other_words_for_the_same_are_no_change():
    renamed = WIFI.model_copy(update={"says": "wireless: works"})
    assert changed_facts([WIFI, ASK], [ASK, renamed]) == ()
