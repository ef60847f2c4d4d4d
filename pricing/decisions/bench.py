"""Which jobs to do in a week whose bench hours are limited.

Jobs are ranked by gain per bench hour. With whole jobs the ranking alone can leave hours unused that another job would
fill; the week's list is therefore the set of jobs with the largest sum of gains within the hours, found exactly, and
told in the order of the ranking. ``ranked_only`` in the result says what the ranking alone would have brought.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pricing.decisions.selection import best_selection
from pricing.errors import BadInput, Problem
from pricing.records.plan import PlanAction, PlanNode


@dataclass(frozen=True)
class Job:
    """The plan of one unit as a job: its expected net gain in money, and its expected hours at the bench."""

    name: str
    gain: float
    hours: float

    @property
    def per_hour(self) -> float:
        """Gain per bench hour; infinite when it takes none."""
        return self.gain / self.hours if self.hours > 0 else float("inf")


@dataclass(frozen=True)
class Week:
    """What to do in a week.

    Attributes:
        ranked: All jobs with a gain, the best per hour first.
        chosen: Those to do, in the same order.
        hours, gain: Of the chosen ones together.
        ranked_only: Gain when the ranking is followed until a job no longer fits, later smaller ones included.
    """

    ranked: tuple[Job, ...]
    chosen: tuple[Job, ...]
    hours: float
    gain: float
    ranked_only: float


def ranked_jobs(jobs: Sequence[Job]) -> tuple[Job, ...]:
    """Return the jobs with a gain, the best per hour first; of equals the larger gain, then by name."""
    return tuple(sorted((job for job in jobs if job.gain > 0), key=lambda job: (-job.per_hour, -job.gain, job.name)))


def plan_week(jobs: Sequence[Job], hours: float) -> Week:
    """Return the jobs to do within the hours.

    Args:
        jobs: All jobs.
        hours: Bench hours of the week.

    Raises:
        BadInput: The hours are below 0 or not a number, or a job's are.
    """
    for name, value in [("hours", hours), *((job.name, job.hours) for job in jobs)]:
        if not (np.isfinite(value) and value >= 0):
            problem = Problem("bench", None, name, f"{value:g} hours", "0 hours or more")
            raise BadInput(str(problem), (problem,))
    ranked = ranked_jobs(jobs)
    chosen = _best_set(ranked, hours)
    return Week(
        ranked=ranked,
        chosen=chosen,
        hours=sum(job.hours for job in chosen),
        gain=sum(job.gain for job in chosen),
        ranked_only=_filled_in_order(ranked, hours),
    )


def _best_set(ranked: Sequence[Job], hours: float) -> tuple[Job, ...]:
    gains, needed = np.array([job.gain for job in ranked]), np.array([[job.hours for job in ranked]])
    taken = best_selection(gains, needed, hours)
    return tuple(job for job, chosen in zip(ranked, taken, strict=True) if chosen)


def _filled_in_order(ranked: Sequence[Job], hours: float) -> float:
    gain, left = 0.0, hours
    for job in ranked:
        if job.hours <= left:
            gain, left = gain + job.gain, left - job.hours
    return gain


def expected_hours(tree: PlanNode, actions: Sequence[PlanAction]) -> float:
    """Return the hours at the bench that a plan takes on average; where its tree was cut, the rest is left out."""
    minutes = {action.name: action.minutes for action in actions}
    here = minutes.get(tree.do, 0.0) / 60 if tree.outcomes else 0.0
    return here + sum(outcome.chance * expected_hours(outcome.then, actions) for outcome in tree.outcomes)
