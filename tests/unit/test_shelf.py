"""A shelf of machines: two broken ones make a good one, and the week's hours are for what pays most."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import numpy as np
import pytest

from pricing.decisions.outlook import Outlook
from pricing.decisions.plan import Planner
from pricing.decisions.repairs import RepairCase, repair_problem
from pricing.decisions.shelf import donor_offers, plan_shelf, stripped
from pricing.decisions.stock import check_stock
from pricing.errors import Abstained, BadInput
from pricing.records.device_class import Attribute, DeviceClass, Function, Part
from pricing.records.money import Money
from pricing.records.plan_terms import PlanTerms, RepairJob
from pricing.records.stock import StockPart
from pricing.records.unit import Unit, status_now

SEWER = DeviceClass(
    name="sewer",
    attributes=(Attribute(name="model", kind="group"),),
    functions=(Function(name="display"), Function(name="pedal"), Function(name="hook")),
    parts=(Part(name="panel", function=("display",)), Part(name="foot", function=("pedal",)),
           Part(name="hook_unit", function=("hook",))),
)  # fmt: skip
DEAD_SHARE = {"display": 0.5, "pedal": 0.6, "hook": 0.2}


def machine(model="S1", **dead) -> Unit:
    works = {"status": "works", "tested_on": "2026-03-01"}
    functions = {name: dead.get(name, works) for name in DEAD_SHARE}
    return Unit.model_validate({"class": "sewer", "attributes": {"model": model}, "functions": functions})


def prices_of(units):
    shares = [[DEAD_SHARE[f.name] for f in SEWER.functions if status_now(f, unit, SEWER) != "works"] for unit in units]
    opened = np.array([0.98 if unit.opened == "by us" else 1.0 for unit in units])
    return opened * [200 * np.prod(each) for each in shares]


def case_of(unit, **terms) -> RepairCase:
    usual = {"hour_cost": Decimal(12), "minutes": 20, "success": 0.9, "donor_fits": 0.9, "recycle_net": Decimal(1)}
    return RepairCase(unit, SEWER, (), PlanTerms(**usual | terms), "EUR")


def plan_of(case):
    if case.unit.attributes["model"] == "unknown":
        raise Abstained("too little is known")
    problem = repair_problem(case)
    outlook = Outlook(case.unit, SEWER, problem.actions, date(2026, 3, 10))
    return Planner(problem, lambda goods: prices_of(outlook.units_of(goods)), lambda price: price).plan()


SHELF = [
    ("A", case_of(machine(display="dead"))),
    ("B", case_of(machine(hook="dead", pedal="dead"))),
    ("C", case_of(machine("S2", display="dead"))),
    ("D", case_of(machine("unknown"))),
]


def test_two_broken_ones_of_one_model_make_a_good_one():
    shelf = plan_shelf(SHELF, plan_of)
    (donation,) = shelf.donations
    assert (donation.taker, donation.giver, donation.parts) == ("A", "B", ("panel",))
    alone = 100 + 24
    mended = 0.81 * 196 + 0.19 * 98 - 20 / 60 * 12 - 1 / 60 * 12
    assert float(donation.gain.amount) == pytest.approx(mended + 12 - alone, abs=0.02)
    assert "unit B" in donation.plan.first


def test_a_unit_that_cannot_be_planned_says_why_and_keeps_nobody_else_from_it():
    shelf = plan_shelf(SHELF, plan_of)
    assert [unit.number for unit in shelf.units if unit.plan is None] == ["D"]
    assert shelf.units[3].refused == "too little is known"


def test_only_good_parts_of_the_same_model_are_given():
    taker = machine(display="dead", pedal="dead")
    assert [o.part for o in donor_offers(taker, machine(display="dead"), SEWER, "B", "EUR")] == ["foot"]
    assert donor_offers(taker, machine("S2"), SEWER, "B", "EUR") == ()
    nameless = taker.model_copy(update={"attributes": {}})
    assert donor_offers(nameless, nameless, SEWER, "B", "EUR") == ()


def test_a_stripped_unit_has_lost_what_its_part_did():
    left = stripped(machine(), ("panel",), SEWER)
    assert left.functions["display"].status == "removed"
    assert left.functions["hook"].status == "works"


def test_the_week_takes_the_jobs_that_pay_most_within_its_hours():
    quick = RepairJob(name="oil", functions=("pedal",), minutes=15, success=0.9, opens=False)
    slow = quick.model_copy(update={"minutes": 120.0})
    cases = [("quick", case_of(machine("S3", pedal="dead"), jobs=(quick,))),
             ("slow", case_of(machine("S4", pedal="dead"), jobs=(slow,)))]  # fmt: skip
    whole, short = plan_shelf(cases, plan_of), plan_shelf(cases, plan_of, hours=1.0)
    assert [(job.number, job.chosen) for job in whole.jobs] == [("quick", True), ("slow", True)]
    assert [(job.number, job.chosen) for job in short.jobs] == [("quick", True), ("slow", False)]
    assert short.jobs[0].hours == pytest.approx(0.25)
    assert short.gain == short.jobs[0].gain


def piece(part, cost, **more) -> StockPart:
    money = {"cost": cost} | {name: more.pop(name) for name in ("worth",) if name in more}
    priced = {name: Money(amount=Decimal(amount), currency="EUR") for name, amount in money.items()}
    return StockPart(part=part, **priced, **more)


def test_a_piece_on_stock_goes_into_the_unit_that_gains_most_by_it():
    cases = [("A", case_of(machine("S5", display="dead"))), ("B", case_of(machine("S6", display="dead", pedal="dead")))]
    shelf = plan_shelf(cases, plan_of, stock=(piece("panel", 8, line=2),))
    (use,) = shelf.stock_uses
    assert (use.number, use.part, use.line, use.cost.amount) == ("A", "panel", 2, Decimal(8))
    mended = 0.9 * 196 + 0.1 * 98 - (20 + 1) / 60 * 12 - 8
    assert float(use.gain.amount) == pytest.approx(mended - 100, abs=0.02)
    assert [(job.number, job.from_stock) for job in shelf.jobs] == [("A", ("panel",))]
    assert "own stock" in shelf.units[0].plan.first


def test_a_piece_counts_at_what_it_would_bring_where_that_is_known():
    cases = [("A", case_of(machine("S5", display="dead")))]
    dear = plan_shelf(cases, plan_of, stock=(piece("panel", 1, worth=90),))
    assert dear.stock_uses == ()
    cheap = plan_shelf(cases, plan_of, stock=(piece("panel", 90, worth=1),))
    assert (cheap.stock_uses[0].cost.amount, cheap.stock_uses[0].given_up.amount) == (Decimal(90), Decimal(1))


def test_a_piece_goes_only_where_it_fits_and_no_more_often_than_there_are_pieces():
    cases = [(name, case_of(machine("S5", display="dead"))) for name in "ABC"]
    cases.append(("D", case_of(machine("S6", display="dead"))))
    shelf = plan_shelf(cases, plan_of, stock=(piece("panel", 5, pieces=2, fits={"model": "S5"}),))
    assert sorted(use.number for use in shelf.stock_uses) == ["A", "B"]
    other = plan_shelf(cases, plan_of, stock=(piece("panel", 5, pieces=9, fits={"model": "S6"}),))
    assert [use.number for use in other.stock_uses] == ["D"]


def test_a_unit_takes_several_parts_one_after_the_other():
    cases = [("A", case_of(machine("S5", display="dead", pedal="dead")))]
    shelf = plan_shelf(cases, plan_of, stock=(piece("panel", 5), piece("foot", 5)))
    assert sorted(use.part for use in shelf.stock_uses) == ["foot", "panel"]
    gains = sum(float(use.gain.amount) for use in shelf.stock_uses)
    alone = plan_shelf(cases, plan_of).units[0].plan.value.amount
    assert gains == pytest.approx(float(shelf.units[0].plan.value.amount - alone), abs=0.02)


def test_stock_that_the_class_does_not_know_is_refused_row_by_row():
    wrong = (piece("wheel", 5, line=2), piece("panel", 5, line=3, fits={"colour": "red"}))
    with pytest.raises(BadInput) as refused:
        check_stock(wrong, SEWER, "SEK")
    told = [(problem.line, problem.column) for problem in refused.value.problems]
    assert told == [(2, "part"), (2, "currency"), (3, "fits"), (3, "currency")]
    check_stock((piece("panel", 5, fits={"model": "S5"}),), SEWER, "EUR")


def test_an_empty_shelf_and_hours_that_cannot_be():
    assert plan_shelf([], plan_of).jobs == ()
    with pytest.raises(BadInput, match="0 hours or more"):
        plan_shelf(SHELF[:1], plan_of, hours=-1)
