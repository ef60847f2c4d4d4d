"""What is believed of fault, mark and lock effects before any sale: means and spreads on the log of price.

The defaults are common practice, no source. They only steer effects that sales say little about.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from pricing.records.base import Record

MeanLog = Annotated[float, Field(lt=0, gt=-5)]
SpreadLog = Annotated[float, Field(gt=0, lt=5)]


class StatusPrior(Record):
    """Prior mean (below 0) and standard deviation (above 0) of an effect on ln(price)."""

    mean_log: MeanLog
    sd_log: SpreadLog


def _default_weights() -> dict[str, dict[str, StatusPrior]]:
    dead = {"1": -0.06, "2": -0.16, "3": -0.50}
    share = {"impaired": 0.55, "dead": 1.0, "removed": 1.0, "untested": 0.40}
    return {
        weight: {
            status: StatusPrior(mean_log=mean * part, sd_log=abs(mean) * part * 0.7)
            for status, part in share.items()
        }
        for weight, mean in dead.items()
    }


def _default_marks() -> dict[str, StatusPrior]:
    light, middle, heavy = -0.03, -0.07, -0.25
    kinds = {
        "scratch": light, "scuff": light, "sticker rest": light, "glue rest": light, "discolouring": middle,
        "worn coating": middle, "dent": middle, "chip": middle, "gap": middle, "engraving": middle,
        "paint over": middle, "lifted edge": middle, "missing piece": heavy / 2, "crack": heavy,
    }  # fmt: skip
    return {kind: StatusPrior(mean_log=mean, sd_log=abs(mean) * 0.7) for kind, mean in kinds.items()}


class FaultPrior(Record):
    """Priors by weight and status of a function, by kind of mark, and for locks and parts.

    Attributes:
        weights: weight ("1", "2", "3") -> status -> prior.
        marks: kind of mark -> prior.
        locked, not_checked: A lock that holds, and one that nobody checked.
        third_party, salvaged: A part that is not original.
        own_share: Spread of one function's own deviation, as a share of its status's prior mean, used until
            sales say more. 1: some faults of a weight cost nothing, others twice the mean.
    """

    weights: dict[str, dict[str, StatusPrior]] = Field(default_factory=_default_weights)
    marks: dict[str, StatusPrior] = Field(default_factory=_default_marks)
    locked: StatusPrior = StatusPrior(mean_log=-0.9, sd_log=0.5)
    not_checked: StatusPrior = StatusPrior(mean_log=-0.08, sd_log=0.06)
    third_party: StatusPrior = StatusPrior(mean_log=-0.05, sd_log=0.04)
    salvaged: StatusPrior = StatusPrior(mean_log=-0.04, sd_log=0.04)
    own_share: Annotated[float, Field(gt=0, le=3)] = 1.0
