"""From a unit, its class, a parts list and a bench's terms to what can be done and how it will be priced."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from pricing.decisions.outlook import Outlook
from pricing.decisions.plan_states import Goods, build_states
from pricing.decisions.repairs import RepairCase, applicable, repair_problem
from pricing.errors import BadInput
from pricing.records.device_class import DeviceClass, Function, Part
from pricing.records.money import Money
from pricing.records.part_offer import PartOffer
from pricing.records.plan import Cause, Harm
from pricing.records.plan_terms import Look, PartTerms, PlanTerms, RepairJob
from pricing.records.unit import Unit, status_now

TODAY = date(2026, 3, 10)
SEWER = DeviceClass(
    name="sewer",
    functions=(
        Function(name="motor", gate=True, weight=3, minutes=2),
        Function(name="display", minutes=1),
        Function(name="light", minutes=1, requires=("motor",)),
        Function(name="pedal", minutes=3),
        Function(name="cutter", optional=True),
    ),
    parts=(
        Part(name="motor_unit", label="motor unit", function=("motor",), touches=("pedal",)),
        Part(name="panel", function=("display",), touches=("display", "light"), moves_over=("film", "cable"),
             harm=("light", "motor_unit")),
        Part(name="lamp", function=("light",), touches=("light",), paired="function lost"),
        Part(name="foot", function=("pedal",), touches=("pedal",)),
    ),
)  # fmt: skip


def sewer(**fields) -> Unit:
    works = {"status": "works", "tested_on": "2026-03-01"}
    functions = {name: works for name in ("motor", "display", "light", "pedal")}  # noqa: C420 - one of them is replaced
    told = {**functions, **fields.pop("functions", {})}
    return Unit.model_validate({"class": "sewer", "functions": told, "opened": "no sign", **fields})


def offer(part="panel", price="20", **more) -> PartOffer:
    money = None if price is None else Money(amount=Decimal(price), currency="EUR")
    return PartOffer(**{"part": part, "source": "Isle Parts", "price": money} | more)


def case_of(unit, *offers, **terms) -> RepairCase:
    return RepairCase(unit, SEWER, offers, PlanTerms(**terms), "EUR")


def actions_of(case):
    return {action.name: action for action in repair_problem(case).actions}


DEAD_DISPLAY = {"functions": {"display": "dead"}}


def test_a_part_that_can_be_had_becomes_a_repair_with_all_that_it_costs():
    repair = actions_of(case_of(
        sewer(**DEAD_DISPLAY),
        offer(postage=Money(amount=Decimal(4), currency="EUR"), min_order=2, lead_days=5, doa_share=0.1),
        minutes=30, success=0.8,
    ))["fit panel (third-party, Isle Parts)"]  # fmt: skip
    assert (repair.cost, repair.lead_days, repair.doa_share) == (Decimal(44), 5, 0.1)
    assert repair.minutes == 30 + 2 * 2 + 1 + 1  # work, two things that move over, display and light tested again
    assert (repair.success, repair.origin, repair.functions) == (0.8, "third-party", ("display",))
    assert repair.doa_refund == pytest.approx(20 / 44)
    assert repair.harms == (Harm(functions=("light",), chance=0.03), Harm(functions=("motor",), chance=0.03))


def test_of_several_offers_the_cheapest_of_each_quality_counts():
    offers = (offer(price="30"), offer(source="Kant"), offer(quality="original"))
    found = actions_of(case_of(sewer(**DEAD_DISPLAY), *offers))
    assert sorted(name for name in found if name.startswith("fit")) == [
        "fit panel (original, Isle Parts)", "fit panel (third-party, Kant)",
    ]  # fmt: skip


def test_a_part_that_nobody_sells_says_where_and_when_it_was_looked_for():
    none = offer(price=None, available="no", checked_on=TODAY)
    repair = actions_of(case_of(sewer(**DEAD_DISPLAY), none))["fit panel"]
    assert not repair.available
    assert repair.why_not == "sold nowhere; looked at Isle Parts (2026-03-10)"
    assert actions_of(case_of(sewer(**DEAD_DISPLAY)))["fit panel"].why_not == "the parts list has no offer of it"


def test_a_donor_part_has_its_own_chance_of_fitting():
    donor = offer(price=None, available="donor", source="unit 12", quality="salvaged")
    repair = actions_of(case_of(sewer(**DEAD_DISPLAY), donor, success=0.8, donor_fits=0.5))
    assert repair["fit panel (salvaged, unit 12)"].success == pytest.approx(0.4)


def test_a_part_tied_to_the_board_cannot_be_swapped():
    repair = actions_of(case_of(sewer(functions={"light": "dead"}), offer("lamp")))["fit lamp"]
    assert "tied to the board" in repair.why_not


def test_attempts_of_the_past_lower_the_chance_and_cost_nothing_more():
    entry = {"on": "2026-02-01", "what": "new panel", "part": "panel"}
    past = [entry | {"result": result} for result in ("same", "better")]
    before = actions_of(case_of(sewer(**DEAD_DISPLAY), offer(), success=0.8, retry=0.5))
    after = actions_of(case_of(sewer(**DEAD_DISPLAY, history=past), offer(), success=0.8, retry=0.5))
    name = "fit panel (third-party, Isle Parts)"
    assert after[name].success == pytest.approx(before[name].success / 2)
    assert after[name].cost == before[name].cost


def test_a_part_is_taken_out_only_when_nothing_on_it_works_and_it_is_no_gate():
    found = actions_of(case_of(sewer(functions={"display": "dead", "motor": "dead", "pedal": "removed"})))
    assert [name for name in found if name.startswith("take out")] == ["take out panel"]


def test_jobs_looks_and_causes_come_from_the_terms():
    causes = {"display": (Cause(name="cable", chance=0.4), Cause(name="glass", chance=0.6))}
    job = RepairJob(name="press cable", functions=("display",), minutes=5, harms={"panel": 0.2, "light": 0.1},
                    success_by_cause={"cable": 0.9, "glass": 0.0})  # fmt: skip
    look = Look(name="look inside", function="display", minutes=8)
    problem = repair_problem(case_of(sewer(**DEAD_DISPLAY), jobs=(job,), looks=(look,), causes=causes, hour_cost=30))
    possible = [action.name for action in problem.actions if action.available]
    assert possible == ["take out panel", "press cable", "look inside"]
    assert problem.faults[0].causes == causes["display"]
    assert problem.actions[2].harms == (Harm(functions=("light",), chance=0.1),)  # the display is broken already
    assert build_states(problem).states > 3


def test_parts_and_jobs_can_be_left_out():
    job = RepairJob(name="press cable", functions=("display",))
    found = actions_of(case_of(sewer(**DEAD_DISPLAY), offer(), jobs=(job,), leave_out=("panel",)))
    assert list(found) == ["press cable"]


def test_terms_of_a_whole_bench_are_cut_to_the_faults_of_one_unit():
    jobs = (RepairJob(name="press cable", functions=("display",)), RepairJob(name="oil", functions=("motor",)))
    looks = (Look(name="try it", function="pedal"),)
    case = applicable(case_of(sewer(**DEAD_DISPLAY), jobs=jobs, looks=looks, leave_out=("oil", "panel")))
    assert list(actions_of(case)) == ["press cable"]


def test_an_untested_function_can_be_looked_at_when_its_chances_are_told():
    causes = {"pedal": (Cause(name="fine", chance=0.7, status="works"), Cause(name="worn", chance=0.3, status="dead"))}
    unit = sewer(functions={"pedal": "untested"})
    problem = repair_problem(case_of(unit, causes=causes, looks=(Look(name="try it", function="pedal"),)))
    assert [(fault.function, fault.status) for fault in problem.faults] == [("pedal", "untested")]


def test_good_parts_are_worth_something_when_the_unit_is_broken_up():
    worth = {"foot": Decimal(3), "motor_unit": Decimal(10), "panel": Decimal(8)}
    case = case_of(sewer(**DEAD_DISPLAY), offer(), parts_net=Decimal(5), part_worth=worth)
    parts = repair_problem(case).exits[0]
    assert parts.net == Decimal(8)  # five, and a foot that nothing here may break
    assert parts.by_function == {"motor": Decimal(10), "display": Decimal(8)}


@pytest.mark.parametrize(
    ("terms", "column"),
    [
        ({"parts": {"wheel": PartTerms()}}, "parts"),
        ({"parts": {"panel": PartTerms(harms={"wheel": 0.1})}}, "parts.panel.harms"),
        ({"part_worth": {"wheel": Decimal(1)}}, "part_worth"),
        ({"jobs": (RepairJob(name="oil", functions=("motor",)),)}, "jobs.oil"),
        ({"looks": (Look(name="look", function="display"),)}, "looks.look"),
        ({"causes": {"wheel": ()}}, "causes"),
        ({"leave_out": ("wheel",)}, "leave_out"),
    ],
)
def test_terms_that_name_what_is_not_there_are_refused_by_their_place(terms, column):
    with pytest.raises(BadInput) as caught:
        repair_problem(case_of(sewer(**DEAD_DISPLAY), **terms))
    assert caught.value.problems[0].column == column


def test_offers_in_another_currency_or_of_an_unknown_part_are_refused_by_their_line():
    dollars = offer(price=None, available="donor", line=4).model_copy(
        update={"price": Money(amount=Decimal(5), currency="USD")}
    )
    with pytest.raises(BadInput) as caught:
        repair_problem(case_of(sewer(**DEAD_DISPLAY), dollars, offer("wheel", line=7)))
    assert [(problem.line, problem.column) for problem in caught.value.problems] == [(4, "currency"), (7, "part")]


def test_terms_that_do_not_hang_together_are_refused_in_words():
    job = RepairJob(name="press", functions=("display",), success_by_cause={"glass": 1.0})
    with pytest.raises(BadInput, match="press: success_by_cause needs each cause"):
        repair_problem(case_of(sewer(**DEAD_DISPLAY), jobs=(job,)))


def outlook_of(unit, *offers, **terms):
    problem = repair_problem(case_of(unit, *offers, **terms))
    return problem, Outlook(unit, SEWER, problem.actions, TODAY)


def test_the_unit_as_it_is_stays_as_it_is():
    unit = sewer(**DEAD_DISPLAY)
    _, outlook = outlook_of(unit, offer())
    assert outlook.unit_of(Goods({"display": "dead"})) is unit


def test_a_repaired_unit_is_opened_has_the_part_and_was_tested_again():
    unit = sewer(**DEAD_DISPLAY, opened="by us", opened_on="2026-02-01")
    _, outlook = outlook_of(unit, offer())
    goods = Goods({"display": "works", "light": "works"}, ("fit panel (third-party, Isle Parts)",), True)
    after = outlook.unit_of(goods)
    assert (after.opened, after.opened_on, after.opened_parts) == ("by us", TODAY, ("panel",))
    assert (after.parts[-1].part, after.parts[-1].origin) == ("panel", "third-party")
    for name in ("display", "light", "pedal"):
        assert status_now(SEWER.functions_by_name[name], after, SEWER) == "works"


@pytest.mark.parametrize(
    "past",
    [
        {"opened": "by us", "opened_on": "2026-06-01"},
        {"opened": "by us"},
        {"parts": [{"part": "panel", "origin": "third-party"}]},
        {"parts": [{"part": "panel", "origin": "third-party", "fitted_on": "2026-05-01"}]},
    ],
)
def test_what_is_repaired_works_whatever_openings_the_past_had(past):
    unit = sewer(**DEAD_DISPLAY, **past)
    _, outlook = outlook_of(unit, offer())
    before = {name: status_now(function, unit, SEWER) for name, function in SEWER.functions_by_name.items()}
    after = outlook.unit_of(Goods({"display": "works"}, (), False))
    for name, function in SEWER.functions_by_name.items():
        assert status_now(function, after, SEWER) == ("works" if name == "display" else before[name])


def test_without_testing_again_what_was_touched_counts_as_untested():
    unit = sewer(**DEAD_DISPLAY)
    problem, outlook = outlook_of(unit, offer(), retest=False)
    repair = next(action for action in problem.actions if action.kind == "repair")
    assert repair.voids
    goods = Goods({"display": "works", "light": "works", "motor": "works"}, (repair.name,), True, (repair.name,))
    after = outlook.unit_of(goods)
    assert status_now(SEWER.functions_by_name["light"], after, SEWER) == "untested"
    assert status_now(SEWER.functions_by_name["display"], after, SEWER) == "works"
    assert status_now(SEWER.functions_by_name["motor"], after, SEWER) == "works"
    broken = outlook.unit_of(Goods({"light": "dead"}, (), True, (repair.name,)))
    assert status_now(SEWER.functions_by_name["light"], broken, SEWER) == "dead"


def test_a_part_taken_out_is_removed_and_not_left_in_place():
    unit = sewer(functions={"display": {"status": "impaired", "symptom": "lines"}})
    _, outlook = outlook_of(unit)
    after = outlook.unit_of(Goods({"display": "removed"}, (), True))
    assert after.functions["display"].status == "removed"
    assert not after.functions["display"].left_in_place
    kept = outlook.unit_of(Goods({"display": "impaired"}, (), True))
    assert kept.functions["display"].symptom == "lines"
