"""A repair problem as the planner reads it, and the plan that it answers with.

Chances are shares of 1, costs are amounts of the problem's own currency, days are days of waiting.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field, model_validator

from pricing.records.base import Record
from pricing.records.money import Currency, Money
from pricing.records.unit import Origin, Status

Chance = Annotated[float, Field(ge=0, le=1)]
ActionKind = Literal["repair", "diagnose", "remove"]
ExitKind = Literal["stop", "parts", "recycle"]
STOP = "stop"
_ROUNDING = 1e-9


class Cause(Record):
    """One thing that may lie behind a fault.

    Attributes:
        name: In words ("board").
        chance: That it is this one, before anything is tried.
        status: Status of the function once this cause is known; None: it stays as it is.
    """

    name: str = Field(min_length=1)
    chance: Chance
    status: Status | None = None


class Fault(Record):
    """A function that does not work as it should.

    Attributes:
        function: Its name.
        status: As it is now.
        causes: What may lie behind it, chances summing to 1; empty: nothing to find out.
    """

    function: str = Field(min_length=1)
    status: Status
    causes: tuple[Cause, ...] = ()

    @model_validator(mode="after")
    def _chances_are_shares(self) -> Fault:
        total = sum(cause.chance for cause in self.causes)
        if self.causes and abs(total - 1) > _ROUNDING:
            raise ValueError(f"the chances of the causes of {self.function} sum to {total:g}; expected 1")
        names = [cause.name for cause in self.causes]
        if len(set(names)) < len(names):
            raise ValueError(f"the causes of {self.function} need different names")
        return self


class Harm(Record):
    """What an attempt may break that was good.

    Attributes:
        functions: They take ``status`` together; one that is dead or removed already stays so.
        chance: In one attempt, whether it succeeds or not.
        status: dead, or impaired.
    """

    functions: tuple[str, ...] = Field(min_length=1)
    chance: Chance
    status: Literal["dead", "impaired"] = "dead"


class PlanAction(Record):
    """Something that can be done to the unit.

    Attributes:
        name: Unique in the problem.
        kind: repair; diagnose (tells the cause of one fault); remove (takes a faulty part away).
        functions: What it restores, all of them on success; the one whose cause it tells; what it removes.
        part, origin: The part that success leaves in the unit, None when no part is fitted.
        cost: Of the part with its postage, paid at each attempt.
        minutes: At the bench, each attempt.
        lead_days: Of waiting, each attempt.
        success: Chance with a good part.
        success_by_cause: Cause -> chance; then ``success`` is not used.
        doa_share: Chance that the part is dead on arrival: nothing changes, and nothing is learnt.
        doa_refund: Share of ``cost`` that comes back for such a part.
        harms: At most one of them happens in an attempt; their chances sum to at most 1.
        attempts: How often it may be tried.
        retry: Factor on the chance of success after each attempt that failed.
        opens: Whether the unit is opened for it.
        voids: Whether tests of what it touched stay void; else ``minutes`` holds the time to repeat them.
        available: False when it cannot be done; ``why_not`` says why.
    """

    name: str = Field(min_length=1)
    kind: ActionKind = "repair"
    functions: tuple[str, ...] = Field(min_length=1)
    part: str | None = None
    origin: Origin = "unknown"
    cost: Decimal = Field(default=Decimal(0), ge=0)
    minutes: float = Field(default=0, ge=0)
    lead_days: float = Field(default=0, ge=0)
    success: Chance = 1.0
    success_by_cause: dict[str, Chance] = Field(default_factory=dict)
    doa_share: Chance = 0.0
    doa_refund: Chance = 0.0
    harms: tuple[Harm, ...] = ()
    attempts: int = Field(default=1, ge=1, le=9)
    retry: Chance = 0.5
    opens: bool = True
    voids: bool = False
    available: bool = True
    why_not: str = ""

    @model_validator(mode="after")
    def _chances_are_shares(self) -> PlanAction:
        total = sum(harm.chance for harm in self.harms)
        if total > 1 + _ROUNDING:
            raise ValueError(f"the chances of what {self.name} may break sum to {total:g}; expected at most 1")
        if self.kind == "diagnose" and len(self.functions) > 1:
            raise ValueError(f"{self.name} tells the cause of one fault, not of {len(self.functions)}")
        if self.kind != "repair" and (self.doa_share or self.success_by_cause or self.attempts > 1):
            raise ValueError(f"{self.name}: only a repair may fail or be tried again")
        return self


class PlanExit(Record):
    """A way to end that is not a sale as it stands.

    Attributes:
        name: Unique in the problem.
        kind: parts or recycle.
        net: What it brings after all costs; below 0 when it costs.
        by_function: Function -> what is added when it works (a good part that can be sold).
    """

    name: str = Field(min_length=1)
    kind: Literal["parts", "recycle"]
    net: Decimal
    by_function: dict[str, Decimal] = Field(default_factory=dict)


class RepairProblem(Record):
    """What can be done to one unit, and what each thing costs.

    Attributes:
        currency: Of all amounts.
        faults: What does not work as it should.
        actions: What can be done.
        exits: Ways to end beside selling it as it is.
        hour_cost: What an hour at the bench costs.
        daily_fall: Share of the price that a day of waiting takes.
    """

    currency: Currency
    faults: tuple[Fault, ...]
    actions: tuple[PlanAction, ...] = ()
    exits: tuple[PlanExit, ...] = ()
    hour_cost: Decimal = Field(default=Decimal(0), ge=0)
    daily_fall: float = Field(default=0.0, ge=0, lt=1)

    @model_validator(mode="after")
    def _names_hang_together(self) -> RepairProblem:
        names = [STOP, *(action.name for action in self.actions), *(way.name for way in self.exits)]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise ValueError(f'the name "{twice[0]}" stands twice')
        functions = [fault.function for fault in self.faults]
        if len(set(functions)) < len(functions):
            raise ValueError("a function has two faults; expected one for each function")
        breakable = {name for action in self.actions for harm in action.harms for name in harm.functions}
        for action in self.actions:
            self._check_action(action, breakable)
        for way in self.exits:
            unknown = sorted(set(way.by_function) - breakable - set(functions))
            if unknown:
                raise ValueError(f"{way.name} counts {unknown[0]}, which nothing here changes; add it to the net")
        return self

    def _check_action(self, action: PlanAction, breakable: set[str]) -> None:
        faults = {fault.function: fault for fault in self.faults}
        for name in action.functions:
            if name not in faults and (name not in breakable or action.kind == "diagnose"):
                raise ValueError(f"{action.name} is for {name}, which has no fault here")
        with_causes = [faults[name] for name in action.functions if name in faults and faults[name].causes]
        if action.kind == "diagnose" and not with_causes:
            raise ValueError(f"{action.name}: the fault of {action.functions[0]} has no causes to tell apart")
        if action.success_by_cause:
            known = {cause.name for fault in with_causes for cause in fault.causes}
            if len(with_causes) != 1 or known != set(action.success_by_cause):
                told = ", ".join(sorted(known)) or "none"
                raise ValueError(f"{action.name}: success_by_cause needs each cause of one fault; there are: {told}")


END_WORDS = {"stop": "sell it as it is", "parts": "sell it for parts", "recycle": "recycle it"}


class PlanOutcome(Record):
    """What may follow an action: its chance, in words, and what to do then."""

    chance: float
    words: str
    then: PlanNode


class PlanNode(Record):
    """One point of the plan.

    Attributes:
        do: Name of the action or exit; "..." where the tree was cut.
        kind: Its kind; None where the tree was cut.
        value: Expected net from here, costs already paid left out.
        reached: Chance that the plan comes here.
        outcomes: What may follow; empty at an end.
    """

    do: str
    kind: ActionKind | ExitKind | None
    value: Money
    reached: float
    outcomes: tuple[PlanOutcome, ...] = ()

    @property
    def words(self) -> str:
        """What to do here, in words; an end says what becomes of the unit."""
        return END_WORDS.get(self.kind or "", self.do)


class ActionReport(Record):
    """What is known of one action at the start.

    Attributes:
        name, kind: Of the action.
        available, why_not: Whether it can be done.
        chance: Of success at the first attempt, a part dead on arrival left out; None for other kinds.
        gain_if_first: Expected net gain over the best end now, when it is done first; None: not possible now.
        break_even: Least chance of success at which the plan with it beats the plan without it; None: there is
            none up to a success that is certain.
        adds: What the plan loses without it.
        verdict: Whether it is done, and why not, in plain words.
    """

    name: str
    kind: ActionKind
    available: bool
    why_not: str = ""
    chance: float | None = None
    gain_if_first: Money | None = None
    break_even: float | None = None
    adds: Money | None = None
    verdict: str = ""


class Knowing(Record):
    """What it would be worth to know something before anything is done, for nothing and without a doubt.

    Attributes:
        about: In words: whether a repair will succeed, or what lies behind a fault.
        worth: The most to pay for it.
    """

    about: str
    worth: Money


class Spread(Record):
    """What draws of the price model say.

    Attributes:
        level: Percent of draws in both ranges.
        gain_low, gain_high: Expected net gain, chance of repairs averaged out.
        result_low, result_high: Gain of one unit, luck of repairs included.
        worse: Chance to end worse than the best end now.
        draws: How many.
    """

    level: int
    gain_low: Money
    gain_high: Money
    result_low: Money
    result_high: Money
    worse: float
    draws: int


class Plan(Record):
    """Which repairs, in which order, and when to stop.

    Attributes:
        first: Name of the first action or end.
        now, now_net: The best end now, and its net.
        value: Expected net with the plan.
        gain: value less now_net.
        spread: From draws; None without draws.
        actions: Each action, the ones that cannot be done included.
        knowing: What it would be worth to know more.
        tree: The plan, cut where it gets too large.
        states: How many states were weighed.
        spent: What was spent on the unit before; never counted.
        on: Day of the plan; model: fingerprint of the model that priced it. None: not known.
        reasons: What led to it and what it assumes, in plain words.
        cautions: What to heed where it opens the unit or ends in parts or scrap; local rules come first.
    """

    first: str
    now: str
    now_net: Money
    value: Money
    gain: Money
    spread: Spread | None = None
    actions: tuple[ActionReport, ...] = ()
    knowing: tuple[Knowing, ...] = ()
    tree: PlanNode
    states: int
    spent: Money | None = None
    on: date | None = None
    model: str | None = None
    reasons: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
