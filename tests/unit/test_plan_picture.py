"""The picture of a plan: well formed, with a title for those who do not see it, and every word in it."""

from __future__ import annotations

from decimal import Decimal
from xml.etree import ElementTree

from api.shop.plan_picture import plan_picture
from pricing.records.money import Money
from pricing.records.plan import Plan, PlanNode, PlanOutcome

SVG = "{http://www.w3.org/2000/svg}"


def euro(amount):
    return Money(amount=Decimal(amount), currency="EUR")


def node(do, kind, value, *outcomes):
    return PlanNode(do=do, kind=kind, value=euro(value), reached=1.0, outcomes=outcomes)


def plan_of(tree):
    return Plan(first=tree.do, now="stop", now_net=euro(40), value=tree.value, gain=euro(22), tree=tree, states=3)


def texts(picture):
    drawn = ElementTree.fromstring(picture)
    return drawn, [text.text for text in drawn.iter(f"{SVG}text")]


def test_every_place_and_every_chance_stands_in_the_picture():
    works = PlanOutcome(chance=0.7, words="works", then=node("stop", "stop", 100))
    fails = PlanOutcome(chance=0.3, words="fails", then=node("recycle", "recycle", 1))
    drawn, words = texts(plan_picture(plan_of(node("new <fan> & belt", "repair", 62, works, fails))))
    assert {"new <fan> & belt", "sell it as it is", "recycle it", "62 EUR", "100 EUR"} <= set(words)
    assert {"works (70%)", "fails (30%)"} <= set(words)
    assert drawn.get("role") == "img"
    assert drawn.find(f"{SVG}title").text == "Plan: new <fan> & belt"
    assert "gain 22" in drawn.find(f"{SVG}desc").text


def test_a_plan_that_ends_at_once_is_one_line_of_words():
    _, words = texts(plan_picture(plan_of(node("stop", "stop", 40))))
    assert words == ["sell it as it is", "40 EUR"]


def test_places_do_not_lie_on_each_other():
    deep = node("stop", "stop", 1)
    for step in range(6):
        deep = node(f"step {step}", "repair", step,
                    PlanOutcome(chance=0.5, words="works", then=deep),
                    PlanOutcome(chance=0.5, words="fails", then=node("stop", "stop", 2)))  # fmt: skip
    drawn, words = texts(plan_picture(plan_of(deep)))
    spots = [text.get("transform") for text in drawn.iter(f"{SVG}text")]
    assert len(set(spots)) == len(spots) == len(words)
