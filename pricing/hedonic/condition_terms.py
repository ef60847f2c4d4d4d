"""Marks, locks and parts as terms of the price model, from the class and the sales."""

from __future__ import annotations

import numpy as np

from pricing.hedonic.state_term import StateTerm, counted_sales
from pricing.records.device_class import DeviceClass
from pricing.records.priors import StatusPrior
from pricing.records.sales_table import ConditionTable

_LOCK_STATES = ("locked", "not checked")
_PART_ORIGINS = ("third-party", "salvaged")


def _single(
    kind: str, things: tuple[str, ...], priors: dict[str, StatusPrior], quiet: tuple[str, ...], table: ConditionTable
) -> StateTerm | None:
    if not things:
        return None
    states = tuple(priors)
    sales, tracked = counted_sales(things, states, getattr(table, kind))
    shape = (len(things), 1)
    return StateTerm(
        kind=kind,
        things=things,
        states=states,
        quiet=quiet,
        mean_log=np.tile([priors[state].mean_log for state in states], shape),
        sd_log=np.tile([priors[state].sd_log for state in states], shape),
        labels=np.tile(np.arange(len(states), dtype=np.int64), shape),
        kins=("",) * len(things),
        own_share=1.0,
        sales=sales,
        tracked=tracked,
        pooled=False,
    )


def mark_term(device_class: DeviceClass, table: ConditionTable) -> StateTerm | None:
    """Return the term of marks on surfaces: kinds share a mean; None for a class without surfaces."""
    surfaces = tuple(surface.name for surface in device_class.surfaces)
    if not surfaces:
        return None
    priors = device_class.fault_prior.marks
    kinds = tuple(priors)
    sales, tracked = counted_sales(surfaces, kinds, table.marks)
    shape = (len(surfaces), 1)
    return StateTerm(
        kind="marks",
        things=surfaces,
        states=kinds,
        quiet=(),
        mean_log=np.tile([priors[kind].mean_log for kind in kinds], shape),
        sd_log=np.tile([priors[kind].sd_log for kind in kinds], shape),
        labels=np.tile(np.arange(len(kinds), dtype=np.int64), shape),
        kins=("",) * len(surfaces),
        own_share=device_class.fault_prior.own_share,
        sales=sales,
        tracked=tracked,
        pooled=True,
    )


def lock_term(device_class: DeviceClass, table: ConditionTable) -> StateTerm | None:
    """Return the term of locks: each lock has its own effect, with the class's prior."""
    prior = device_class.fault_prior
    names = tuple(lock.name for lock in device_class.locks)
    states = dict(zip(_LOCK_STATES, (prior.locked, prior.not_checked), strict=True))
    return _single("locks", names, states, ("not checked",), table)


def part_term(device_class: DeviceClass, table: ConditionTable) -> StateTerm | None:
    """Return the term of parts of other origin: each part has its own effect, with the class's prior."""
    prior = device_class.fault_prior
    names = tuple(part.name for part in device_class.parts)
    states = dict(zip(_PART_ORIGINS, (prior.third_party, prior.salvaged), strict=True))
    return _single("parts", names, states, (), table)
