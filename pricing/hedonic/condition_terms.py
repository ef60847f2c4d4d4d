"""Marks, locks and parts as terms of the price model, from the class and the sales."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from pricing.hedonic.counts import WordCounts
from pricing.hedonic.state_term import StateTerm, counted_sales
from pricing.records.device_class import DeviceClass
from pricing.records.priors import StatusPrior

_LOCK_STATES = ("locked", "not checked")
_PART_ORIGINS = ("third-party", "salvaged")


def _term(
    kind: str,
    things: tuple[str, ...],
    priors: Mapping[str, StatusPrior],
    counts: Mapping[str, WordCounts],
    *,
    quiet: tuple[str, ...] = (),
    own_share: float | None = None,
) -> StateTerm | None:
    """Return a term in which every thing has the same priors; with ``own_share`` its states share a mean."""
    if not things:
        return None
    states = tuple(priors)
    sales, tracked = counted_sales(things, states, counts)
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
        own_share=own_share or 0.0,
        sales=sales,
        tracked=tracked,
        pooled=own_share is not None,
    )


def mark_term(device_class: DeviceClass, counts: Mapping[str, WordCounts]) -> StateTerm | None:
    """Return the term of marks on surfaces: kinds share a mean; None for a class without surfaces."""
    prior = device_class.fault_prior
    names = tuple(surface.name for surface in device_class.surfaces)
    return _term("marks", names, prior.marks, counts, own_share=prior.own_share)


def lock_term(device_class: DeviceClass, counts: Mapping[str, WordCounts]) -> StateTerm | None:
    """Return the term of locks, each effect by itself; None for a class without locks."""
    prior = device_class.fault_prior
    names = tuple(lock.name for lock in device_class.locks)
    states = dict(zip(_LOCK_STATES, (prior.locked, prior.not_checked), strict=True))
    return _term("locks", names, states, counts, quiet=("not checked",))


def part_term(device_class: DeviceClass, counts: Mapping[str, WordCounts]) -> StateTerm | None:
    """Return the term of parts of other origin, each effect by itself; None for a class without parts."""
    prior = device_class.fault_prior
    names = tuple(part.name for part in device_class.parts)
    states = dict(zip(_PART_ORIGINS, (prior.third_party, prior.salvaged), strict=True))
    return _term("parts", names, states, counts)
