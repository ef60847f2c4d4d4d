"""What a shop knows of its own bench: what an hour costs, how often repairs succeed, what else can be done.

The defaults are common practice, no source; they stand where neither the parts list nor the shop says more.
"""

from __future__ import annotations

from decimal import Decimal

from pydantic import Field

from pricing.records.base import Record
from pricing.records.plan import Cause, Chance


class RepairJob(Record):
    """A repair that the class's parts do not describe: cleaning, straightening, soldering.

    Attributes:
        name: In words.
        functions: What it restores.
        cost: Of what is used up, in the plan's currency.
        minutes: At the bench.
        success: Chance; ``success_by_cause``: chance by cause instead.
        harms: Function or part -> chance that it breaks.
        attempts, retry: How often it may be tried, and the factor on the chance after each failure.
        opens: Whether the unit is opened for it.
    """

    name: str = Field(min_length=1)
    functions: tuple[str, ...] = Field(min_length=1)
    cost: Decimal = Field(default=Decimal(0), ge=0)
    minutes: float = Field(default=0, ge=0)
    success: Chance = 0.5
    success_by_cause: dict[str, Chance] = Field(default_factory=dict)
    harms: dict[str, Chance] = Field(default_factory=dict)
    attempts: int = Field(default=1, ge=1, le=9)
    retry: Chance = 0.5
    opens: bool = True


class Look(Record):
    """A test that tells what lies behind a fault, or whether an untested function works."""

    name: str = Field(min_length=1)
    function: str
    cost: Decimal = Field(default=Decimal(0), ge=0)
    minutes: float = Field(default=10, ge=0)
    opens: bool = True


class PartTerms(Record):
    """What is known of fitting one part: chances and minutes; None: as for every part.

    Attributes:
        success: Chance with a good part; ``success_by_cause``: by cause of the fault instead.
        minutes: At the bench, without testing again.
        harms: Function or part -> chance that fitting breaks it, instead of the class's list.
        attempts: How often it may be tried.
    """

    success: Chance | None = None
    success_by_cause: dict[str, Chance] = Field(default_factory=dict)
    minutes: float | None = Field(default=None, ge=0)
    harms: dict[str, Chance] | None = None
    attempts: int = Field(default=1, ge=1, le=9)


class PlanTerms(Record):
    """Terms of one bench.

    Attributes:
        hour_cost: Of an hour at the bench, in the plan's currency.
        daily_fall: Share of the price lost by a day of waiting; None: as the price model has it.
        success, minutes: Of fitting a part, without testing again.
        donor_fits: Factor on the chance when the part comes from a donor.
        harm: Chance for each thing that the class says fitting may break.
        retry: Factor on the chance for each attempt that failed, those in the unit's history included.
        doa_refund: Share of the price of a part that comes back when it is dead on arrival.
        surplus_share: Share of the price of pieces bought and not needed that is not lost.
        move_minutes: For each small thing that moves over from the old part.
        remove_minutes: To take a part out for good.
        retest: Whether touched functions are tested again after closing; else they are sold as untested.
        parts_net: What the unit brings for parts; None: it is not sold so.
        part_worth: Part -> what is added to that when it is good.
        recycle_net: What recycling brings, below 0 when it costs; None: not possible.
        parts: Part -> what is known of fitting it.
        jobs: Repairs without a part.
        looks: Tests that tell causes.
        causes: Function -> what may lie behind its fault.
        leave_out: Parts and jobs that are not to be thought of.
    """

    hour_cost: Decimal = Field(default=Decimal(0), ge=0)
    daily_fall: float | None = Field(default=None, ge=0, lt=1)
    success: Chance = 0.85
    minutes: float = Field(default=30, ge=0)
    donor_fits: Chance = 0.85
    harm: Chance = 0.03
    retry: Chance = 0.5
    doa_refund: Chance = 1.0
    surplus_share: Chance = 0.0
    move_minutes: float = Field(default=2, ge=0)
    remove_minutes: float = Field(default=15, ge=0)
    retest: bool = True
    parts_net: Decimal | None = None
    part_worth: dict[str, Decimal] = Field(default_factory=dict)
    recycle_net: Decimal | None = Decimal(0)
    parts: dict[str, PartTerms] = Field(default_factory=dict)
    jobs: tuple[RepairJob, ...] = ()
    looks: tuple[Look, ...] = ()
    causes: dict[str, tuple[Cause, ...]] = Field(default_factory=dict)
    leave_out: tuple[str, ...] = ()
