"""The tables ``[grade]``, ``[prior]``, ``[waiting]`` and ``[lot]``: what they leave out keeps its default."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from typing import TypeVar

from data.catalogue.positions import Path
from data.catalogue.report import Report
from data.catalogue.rows import merged_with_defaults, read_record
from pricing.records.base import Record
from pricing.records.device_class import FAULT_STATUSES
from pricing.records.grade import GradeRule, GradeStep
from pricing.records.lot_rates import LotRates
from pricing.records.priors import FaultPrior
from pricing.records.waiting import WaitingAssumption

Stated = TypeVar("Stated", bound=Record)

_WEIGHTS = ("1", "2", "3")
_ORDER = {"A": 0, "B": 1, "C": 2}


def read_grade_rule(values: object, mark_kinds: tuple[str, ...], report: Report) -> GradeRule:
    """Return the rule of a ``[grade]`` table; after a problem, which is reported, the default."""
    if values is None:
        return GradeRule()
    if not isinstance(values, dict):
        report.add(("grade",), values, "a table [grade]")
        return GradeRule()
    stated = merged_with_defaults(values, GradeRule()) if "steps" not in values else values
    rule = read_record(stated, GradeRule, ("grade",), report)
    if rule is None:
        return GradeRule()
    _report_order(rule.steps, report)
    for place, step in enumerate(rule.steps):
        _report_unknown(step.never, mark_kinds, ("grade", "steps", place, "never"), report)
    return rule


def read_prior(values: object, report: Report) -> FaultPrior:
    """Return the beliefs of a ``[prior]`` table; after a problem, which is reported, the default.

    New kinds of mark may be added under ``[prior.marks]``; weights and statuses are given.
    """
    if values is None:
        return FaultPrior()
    if not isinstance(values, dict):
        report.add(("prior",), values, "a table [prior]")
        return FaultPrior()
    weights = values.get("weights")
    if isinstance(weights, dict):
        _report_keys(weights, _WEIGHTS, ("prior", "weights"), report)
        for weight, statuses in weights.items():
            if isinstance(statuses, dict):
                _report_keys(statuses, FAULT_STATUSES, ("prior", "weights", weight), report)
    prior = read_record(merged_with_defaults(values, FaultPrior()), FaultPrior, ("prior",), report)
    return FaultPrior() if prior is None else prior


def read_waiting(values: object, report: Report) -> WaitingAssumption:
    """Return the beliefs of a ``[waiting]`` table; after a problem, which is reported, the default."""
    return _stated(values, WaitingAssumption(), "waiting", report)


def read_lot_rates(values: object, functions: tuple[str, ...], report: Report) -> LotRates:
    """Return the beliefs of a ``[lot]`` table; after a problem, which is reported, the default."""
    rates = _stated(values, LotRates(), "lot", report)
    for name in rates.own:
        if name not in functions:
            report.add(("lot", "own", name), name, "a function that this file describes")
    return rates


def _stated(values: object, default: Stated, table: str, report: Report) -> Stated:
    """Return the default, changed where the table states something else."""
    if values is None:
        return default
    if not isinstance(values, dict):
        report.add((table,), values, f"a table [{table}]")
        return default
    return read_record(merged_with_defaults(values, default), type(default), (table,), report) or default


def _report_order(steps: tuple[GradeStep, ...], report: Report) -> None:
    """Report steps that do not go from best to worst: then one more mark could better the grade."""
    for place, (better, worse) in enumerate(pairwise(steps), start=1):
        if _ORDER[worse.grade] <= _ORDER[better.grade]:
            path = ("grade", "steps", place, "grade")
            report.add(path, worse.grade, f"a grade worse than {better.grade}: steps go from best to worst")


def _report_keys(keys: Iterable[str], known: tuple[str, ...], path: Path, report: Report) -> None:
    for key in keys:
        _report_unknown((key,), known, (*path, key), report)


def _report_unknown(words: Iterable[str], known: tuple[str, ...], path: Path, report: Report) -> None:
    for word in words:
        if word not in known:
            report.add(path, word, f"one of {', '.join(known)}")
