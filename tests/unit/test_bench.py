"""A week at the bench against every set of jobs."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from pricing.decisions.bench import Job, expected_hours, plan_week, ranked_jobs
from pricing.decisions.plan import Planner
from pricing.errors import BadInput
from pricing.records.plan import Fault, PlanAction, RepairProblem


def test_jobs_are_ranked_by_gain_per_hour_and_those_without_gain_are_left_out():
    jobs = [Job("slow", 90, 3), Job("quick", 20, 0.5), Job("loss", -5, 1), Job("none", 4, 0)]
    assert [job.name for job in ranked_jobs(jobs)] == ["none", "quick", "slow"]


@pytest.mark.parametrize("seed", range(15))
def test_the_weeks_jobs_are_the_best_of_all_sets_within_the_hours(seed):
    rng = np.random.default_rng(seed)
    jobs = [Job(f"j{k}", round(rng.uniform(-5, 80), 2), round(rng.uniform(0.2, 4), 2)) for k in range(9)]
    hours = 8.0
    sets = (chosen for size in range(10) for chosen in combinations(jobs, size))
    best = max(sum(j.gain for j in chosen) for chosen in sets if sum(j.hours for j in chosen) <= hours)
    week = plan_week(jobs, hours)
    assert week.gain == pytest.approx(best)
    assert week.hours <= hours + 1e-9
    assert week.ranked_only <= week.gain + 1e-9


def test_a_smaller_job_fills_the_hours_that_the_ranking_leaves():
    week = plan_week([Job("best per hour", 50, 1), Job("fills", 90, 2)], hours=2)
    assert [job.name for job in week.chosen] == ["fills"]
    assert week.ranked_only == 50


def test_a_week_without_hours_or_jobs_is_empty():
    assert plan_week([Job("a", 5, 1)], 0).chosen == ()
    assert plan_week([], 10).gain == 0


@pytest.mark.parametrize(("hours", "of_job"), [(-1, 1), (float("nan"), 1), (4, -2)])
def test_hours_that_cannot_be_are_refused(hours, of_job):
    with pytest.raises(BadInput, match="0 hours or more"):
        plan_week([Job("a", 5, of_job)], hours)


def test_the_hours_of_a_plan_count_each_action_as_often_as_the_plan_comes_to_it():
    first = PlanAction(name="first", functions=("fan",), cost=1, minutes=30, success=0.75)
    second = PlanAction(name="second", functions=("fan",), cost=20, minutes=60, success=0.9)
    problem = RepairProblem(currency="EUR", faults=(Fault(function="fan", status="dead"),), actions=(first, second))
    planner = Planner(problem, lambda goods: np.array([100.0 if g.statuses["fan"] == "works" else 0 for g in goods]),
                      lambda price: price)  # fmt: skip
    assert expected_hours(planner.plan().tree, problem.actions) == pytest.approx(0.5 + 0.25 * 1.0)
