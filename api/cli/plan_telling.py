"""How a plan reads on a screen."""

from __future__ import annotations

from api.cli.output import say, show_table
from api.cli.telling import told_money
from pricing.records.plan import END_WORDS, ActionReport, Plan, PlanNode
from pricing.records.shelf import ShelfPlan, WeekJob

_DEEPEST = 6


def tell_plan(plan: Plan) -> None:
    """Print what to do first, what it brings, how sure that is, the tree, and a word on every action."""
    say(f"First: {plan.tree.words}.")
    if plan.tree.outcomes:
        say(f"Expected net {told_money(plan.value)}; {END_WORDS[plan.now]} now: {told_money(plan.now_net)}.")
        _tell_gain(plan)
        say("")
        _tell_tree(plan.tree)
    else:
        say(f"Expected net {told_money(plan.value)}.")
    if plan.actions:
        say("")
        columns = ("what can be done", "chance", "pays from", "adds", "")
        show_table(columns, [_row(report) for report in plan.actions], right=columns[1:4])
    for known in plan.knowing:
        if known.worth.amount > 0:
            say(f"To know {known.about} is worth at most {told_money(known.worth)}.")
    if plan.spent is not None:
        say(f"Spent on it so far: {told_money(plan.spent)}; gone either way, so it does not count.")
    for reason in plan.reasons:
        say(f"- {reason}")
    if plan.cautions:
        say("", "Cautions:", *(f"- {caution}" for caution in plan.cautions))


def _tell_gain(plan: Plan) -> None:
    say(f"Expected gain {told_money(plan.gain, signed=True)}.")
    spread = plan.spread
    if spread is not None:
        span = f"{told_money(spread.gain_low, signed=True)} to {told_money(spread.gain_high, signed=True)}"
        single = f"{told_money(spread.result_low, signed=True)} to {told_money(spread.result_high, signed=True)}"
        say(f"  {spread.level} of 100: {span} on average over the luck of repairs; {single} for this one unit")
        say(f"  chance to end worse than without it: {spread.worse:.0%}")


def _tell_tree(node: PlanNode, words: str = "", depth: int = 0) -> None:
    say(f"{'  ' * depth}{words}{node.words} ({told_money(node.value)})")
    if depth >= _DEEPEST and node.outcomes:
        say(f"{'  ' * (depth + 1)}... and so on; --svg or --json shows the rest")
        return
    for outcome in node.outcomes:
        _tell_tree(outcome.then, f"{outcome.words} {outcome.chance:.0%}: ", depth + 1)


def _row(report: ActionReport) -> tuple[str, str, str, str, str]:
    return (
        report.name,
        "" if report.chance is None else f"{report.chance:.0%}",
        "" if report.break_even is None else f"{report.break_even:.1%}",
        told_money(report.adds, signed=True) if report.adds is not None and report.adds.amount else "",
        report.verdict,
    )


def tell_shelf(shelf: ShelfPlan) -> None:
    """Print what to do with each unit, which give parts to which, and the jobs of the week."""
    rows = []
    for unit in shelf.units:
        if unit.plan is None:
            rows.append((unit.number, f"no plan: {unit.refused}", "", ""))
        else:
            gain = told_money(unit.plan.gain, signed=True) if unit.plan.gain.amount else ""
            rows.append((unit.number, unit.plan.tree.words, told_money(unit.plan.value), gain))
    show_table(("unit", "first", "expected net", "gain"), rows, right=("expected net", "gain"))
    for use in shelf.stock_uses:
        gain = f"{told_money(use.gain, signed=True)} over its plan without"
        say(f"{use.number} with {use.part} from stock: {gain}; then it carries the {told_money(use.cost)} it cost.")
    for donation in shelf.donations:
        parts = ", ".join(donation.parts)
        gain = told_money(donation.gain, signed=True)
        say(f"{donation.taker} with {parts} of {donation.giver}: {gain} over both plans alone.")
    if shelf.jobs:
        limit = "without a limit of hours" if shelf.hours is None else f"within {shelf.hours:g} hours"
        say("", f"Jobs, the best per bench hour first ({limit}):")
        columns = ("unit", "gain", "hours", "per hour", "this week")
        show_table(columns, [_job_row(job) for job in shelf.jobs], right=columns[1:4])
        say(f"Expected gain of the week: {told_money(shelf.gain, signed=True)}.")


def _job_row(job: WeekJob) -> tuple[str, str, str, str, str]:
    sources = ([] if job.with_parts_of is None else [f"parts of {job.with_parts_of}"])
    sources += [f"{part} from stock" for part in job.from_stock]
    name = f"{job.number} ({', '.join(sources)})" if sources else job.number
    per_hour = "" if job.per_hour is None else told_money(job.per_hour)
    return name, told_money(job.gain, signed=True), f"{job.hours:.2f}", per_hour, "yes" if job.chosen else "no"
