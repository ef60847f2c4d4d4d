"""How a plan reads on a screen: nothing that decides is left out."""

from __future__ import annotations

from decimal import Decimal

import pytest

from api.cli.plan_telling import tell_plan, tell_shelf
from pricing.records.money import Money
from pricing.records.plan import ActionReport, Knowing, Plan, PlanNode, PlanOutcome, Spread
from pricing.records.shelf import Donation, ShelfPlan, StockUse, UnitPlan, WeekJob


def euro(amount):
    return Money(amount=Decimal(amount), currency="EUR")


def node(do, kind, value, *outcomes):
    return PlanNode(do=do, kind=kind, value=euro(value), reached=1.0, outcomes=outcomes)


def plan_of(**more):
    works = PlanOutcome(chance=0.7, words="works", then=node("stop", "stop", "100.00"))
    fails = PlanOutcome(chance=0.3, words="fails", then=node("parts", "parts", "40.00"))
    spread = Spread(level=80, gain_low=euro("12.00"), gain_high=euro("31.00"), result_low=euro("-20.00"),
                    result_high=euro("45.00"), worse=0.31, draws=1000)  # fmt: skip
    usual = {
        "first": "new fan", "now": "stop", "now_net": euro("40.00"), "value": euro("62.00"), "gain": euro("22.00"),
        "spread": spread, "tree": node("new fan", "repair", "62.00", works, fails), "states": 3,
        "actions": (
            ActionReport(name="new fan", kind="repair", available=True, chance=0.7, break_even=0.333,
                         adds=euro("22.00"), verdict="done first"),
            ActionReport(name="new lens", kind="repair", available=False, verdict="cannot be done: sold nowhere"),
        ),
        "knowing": (Knowing(about="whether new fan will succeed", worth=euro("6.00")),),
        "reasons": ("parts are ordered one after the other",),
    }  # fmt: skip
    return Plan(**usual | more)


@pytest.fixture
def told(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "150")

    def tell(teller, what):
        teller(what)
        return " ".join(capsys.readouterr().out.split())

    return tell


@pytest.mark.parametrize(
    "words",
    [
        "First: new fan.",
        "Expected net 62.00 EUR; sell it as it is now: 40.00 EUR.",
        "Expected gain +22.00 EUR.",
        "+12.00 EUR to +31.00 EUR on average over the luck of repairs; -20.00 EUR to +45.00 EUR for this one unit",
        "chance to end worse than without it: 31%",
        "works 70%: sell it as it is (100.00 EUR)",
        "fails 30%: sell it for parts (40.00 EUR)",
        "70% 33.3% +22.00 EUR done first",
        "cannot be done: sold nowhere",
        "To know whether new fan will succeed is worth at most 6.00 EUR.",
        "- parts are ordered one after the other",
    ],
)
def test_a_plan_is_told_with_all_that_decides(told, words):
    assert words in told(tell_plan, plan_of())


def test_a_plan_that_ends_at_once_tells_no_gain(told):
    tree = node("stop", "stop", "40.00")
    words = told(tell_plan, plan_of(first="stop", gain=euro("0.00"), value=euro("40.00"), tree=tree))
    assert "First: sell it as it is." in words
    assert "gain" not in words
    assert words.count("40.00 EUR") == 1


def test_money_that_is_spent_is_told_as_gone(told):
    assert "Spent on it so far: 55.00 EUR; gone either way" in told(tell_plan, plan_of(spent=euro("55.00")))


def test_a_deep_tree_is_cut_on_the_screen_and_says_where_the_rest_is(told):
    tree = node("stop", "stop", "1.00")
    for step in range(10):
        tree = node(f"step {step}", "repair", "1.00", PlanOutcome(chance=1.0, words="works", then=tree))
    words = told(tell_plan, plan_of(tree=tree))
    assert "and so on; --svg or --json shows the rest" in words
    assert "step 1 " not in words


def test_a_shelf_tells_each_unit_the_donors_and_the_week(told):
    job = {"gain": euro("31.00"), "hours": 0.5, "per_hour": euro("62.00"), "chosen": True}
    shelf = ShelfPlan(
        units=(UnitPlan(number="A", plan=plan_of()), UnitPlan(number="B", refused="too little is known")),
        donations=(Donation(taker="A", giver="C", parts=("fan",), gain=euro("9.00"), plan=plan_of()),),
        stock_uses=(StockUse(number="A", part="hook", line=2, cost=euro("7.00"), given_up=euro("4.00"),
                             gain=euro("3.50")),),
        jobs=(WeekJob(number="A", with_parts_of="C", from_stock=("hook",), **job),),
        hours=2.0,
        gain=euro("31.00"),
    )
    words = told(tell_shelf, shelf)
    assert "A new fan 62.00 EUR +22.00 EUR" in words
    assert "B no plan: too little is known" in words
    assert "A with fan of C: +9.00 EUR over both plans alone." in words
    assert "A with hook from stock: +3.50 EUR over its plan without; then it carries the 7.00 EUR it cost." in words
    assert "A (parts of C, hook from stock) +31.00 EUR 0.50 62.00 EUR yes" in words
    assert "Expected gain of the week: +31.00 EUR." in words
