"""A unit: one piece of goods in hand, with its specifications, condition and history."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any, Literal

from pydantic import Field, model_validator

from pricing.records.base import Record
from pricing.records.cell import Cell, Signed
from pricing.records.device_class import DeviceClass, Function, Surface
from pricing.records.grade import Grade
from pricing.records.identity import IdentityPlace
from pricing.records.money import Money
from pricing.records.purchase import Purchase
from pricing.records.software import Software
from pricing.records.supply import Supply

Status = Literal["works", "impaired", "dead", "removed", "untested", "not fitted"]
Origin = Literal["original", "third-party", "salvaged", "unknown"]
Opened = Literal["no sign", "by us", "by others", "not known"]
LiquidIndicator = Literal["white", "red", "missing", "cannot be seen", "not looked at"]
Corrosion = Literal["seen", "none seen", "not looked at"]
Storage = Literal["in", "destroyed", "handed over", "kept"]
CarrierState = Literal["none", "taken out", "still in"]
Screws = Literal["complete", "some missing", "not counted"]
Doubt = Literal["reported stolen", "identity altered", "owner's data found"]
Trace = Literal["smoke", "damp", "mould", "insects", "body fluids", "sticky residue", "glue at the seams", "other"]


class FunctionTest(Record):
    """The status of one function, and how and when it was found.

    Attributes:
        status: works, impaired, dead, removed, untested or not fitted.
        symptom: What works poorly; required with impaired.
        tested_on: Day of the test.
        minutes: Length of the test.
        restarted: Tested after a restart.
        left_in_place: With removed: the part is still inside, not connected.
        note: Free text for the bench; never shown to buyers.
    """

    status: Status
    symptom: str | None = None
    tested_on: date | None = None
    minutes: float | None = Field(default=None, ge=0)
    restarted: bool | None = None
    left_in_place: bool | None = None
    note: str | None = None

    @model_validator(mode="before")
    @classmethod
    def _status_alone(cls, value: Any) -> Any:  # noqa: ANN401 - whatever JSON holds
        return {"status": value} if isinstance(value, str) else value

    @model_validator(mode="after")
    def _impaired_has_symptom(self) -> FunctionTest:
        if self.status == "impaired" and not (self.symptom or "").strip():
            raise ValueError('status "impaired" needs a symptom: what works poorly')
        return self


class Mark(Record):
    """One cosmetic blemish.

    Attributes:
        surface, kind: Where and what.
        size_mm: Longest extent in mm; None: not measured.
        count: How many alike.
        visible_at_arms_length: None: not said, counted as visible.
    """

    surface: str
    kind: str
    size_mm: float | None = Field(default=None, gt=0, le=2000)
    count: int = Field(default=1, ge=1, le=1000)
    visible_at_arms_length: bool | None = None


class FittedPart(Record):
    """A part that was fitted, and where it came from."""

    part: str
    origin: Origin = "unknown"
    fitted_on: date | None = None


class LockCheck(Record):
    """The state of one lock. Not checked is never free.

    Attributes:
        state: free, locked or not checked.
        checked_on, way: When and how.
        has_grown_old: It was found free, but too long ago to count: then it is not checked. Never set by hand.
    """

    state: Literal["free", "locked", "not checked"]
    checked_on: date | None = None
    way: str | None = None
    has_grown_old: bool = False

    @model_validator(mode="before")
    @classmethod
    def _state_alone(cls, value: Any) -> Any:  # noqa: ANN401 - whatever JSON holds
        return {"state": value} if isinstance(value, str) else value


class HistoryEntry(Record):
    """Something that was done to the unit, kept in order."""

    on: date
    what: str
    part: str | None = None
    result: Literal["better", "same", "worse", "broke something else"] | None = None


class Unit(Record):
    """One piece of goods in hand.

    Attributes:
        number: The user's own number for it, unique in a store; None before it is stored.
        device_class: Name of the class ("class" in JSON).
        attributes: Attribute name -> value as written; None: not stated.
        functions: Function name -> test; a function not mentioned is untested.
        marks: All blemishes.
        looked_at: Surfaces looked at uncovered; a surface with a mark counts as looked at.
        covered: Surfaces under film, case or sticker.
        parts: Parts fitted since the unit was new, as far as known.
        opened, opened_on, opened_parts: Whether, when last, which parts were off (empty: not known which).
        liquid_indicator: What the indicator shows.
        locks: Lock name -> check.
        corrosion, looked_at_inside: What was seen of corrosion, and which places were looked at for it.
        battery_share: Cell capacity as percent of design; battery_measured: measured, not only reported.
        cell: What else is known of the cell, and whether a doubtful one was handled.
        data_erased: Whether, and how, the storage was erased; data_verified: whether that was verified.
        data_verified_how, data_erased_on: How that was verified, and the day of the erasure.
        storage: Whether the storage is in; if not, whether it was destroyed, handed to somebody who does that, or kept.
        carriers: What else may hold somebody's things (cards, discs) -> none there, taken out or still in.
        accessories: What comes with it.
        supply: The mains supply or charger; None: none, or nothing said of it.
        box_matches: Whether the number on the box is the unit's; None: no box, or not compared.
        identity: IMEI or serial; shown masked only. ``identities``: those read in other places; shown masked only.
        doubts: Why it may be neither sold nor stripped.
        software: The system on it; None: nothing said.
        traces: Smells, pests and residues that were found.
        earlier_work: Signs of work by others: flux, lifted pads, missing shields.
        screws, sealed_with: How it was closed again.
        answered_none: Keys of questions of the intake that were answered with "none": looked for, and nothing found.
        qualified: Who is qualified to open goods with mains inside, and will; None: nobody named.
        observed: Combination sentences that were seen on this unit.
        history: What was done.
        ask: Asking price.
        purchase: How it was bought and what proves it; None: not written down. What was paid is in its ledger.
    """

    number: str | None = None
    device_class: str = Field(alias="class")
    attributes: dict[str, str | Decimal | None] = Field(default_factory=dict)
    functions: dict[str, FunctionTest] = Field(default_factory=dict)
    marks: tuple[Mark, ...] = ()
    looked_at: tuple[str, ...] = ()
    covered: tuple[str, ...] = ()
    parts: tuple[FittedPart, ...] = ()
    opened: Opened = "not known"
    opened_on: date | None = None
    opened_parts: tuple[str, ...] = ()
    liquid_indicator: LiquidIndicator = "not looked at"
    locks: dict[str, LockCheck] = Field(default_factory=dict)
    battery_share: Decimal | None = Field(default=None, ge=0, le=150)
    battery_measured: bool = False
    data_erased: str | None = None
    data_verified: bool = False
    accessories: tuple[str, ...] = ()
    identity: str | None = None
    identities: dict[IdentityPlace, str] = Field(default_factory=dict)
    cell: Cell = Cell()
    corrosion: Corrosion = "not looked at"
    looked_at_inside: tuple[str, ...] = ()
    data_verified_how: str | None = None
    data_erased_on: date | None = None
    storage: Storage = "in"
    carriers: dict[str, CarrierState] = Field(default_factory=dict)
    supply: Supply | None = None
    box_matches: bool | None = None
    doubts: tuple[Doubt, ...] = ()
    software: Software | None = None
    traces: tuple[Trace, ...] = ()
    earlier_work: tuple[str, ...] = ()
    screws: Screws = "not counted"
    sealed_with: str | None = None
    qualified: Signed | None = None
    answered_none: tuple[str, ...] = ()
    observed: tuple[str, ...] = ()
    history: tuple[HistoryEntry, ...] = ()
    ask: Money | None = None
    purchase: Purchase | None = None

    model_config = Record.model_config | {"populate_by_name": True}


def is_fitted(function: Function, unit: Unit) -> bool:
    """Return whether the unit has this function at all: "not fitted" is neither untested nor a defect.

    A missing attribute counts as fitted, because silence must not hide a function.
    """
    recorded = unit.functions.get(function.name)
    if recorded is not None:
        return recorded.status != "not fitted"
    for attribute, values in function.fitted_if.items():
        stated = unit.attributes.get(attribute)
        if stated is not None and str(stated) not in values:
            return False
    return True


def voided_by_opening(function: str, unit: Unit, device_class: DeviceClass) -> bool:
    """Return whether an opening voids every test of the function made on or before that day.

    A fitted part voids what it touches; ``opened_parts`` voids what those parts touch; an opening without a
    list of parts voids what any part of the class touches. Where a day is missing the test counts as older.
    """
    test = unit.functions.get(function)
    if test is None or test.status in ("untested", "not fitted", "removed"):
        return False
    days: list[date | None] = []
    parts = device_class.parts_by_name
    for fitted in unit.parts:
        part = parts.get(fitted.part)
        changed = fitted.origin in ("third-party", "salvaged") or fitted.fitted_on is not None
        if part is not None and changed and function in (*part.touches, *part.function):
            days.append(fitted.fitted_on or unit.opened_on)
    if unit.opened == "by us" or unit.opened_on is not None:
        off = [parts[name] for name in unit.opened_parts if name in parts] or list(parts.values())
        if any(function in part.touches for part in off):
            days.append(unit.opened_on)
    return any(test.tested_on is None or day is None or test.tested_on <= day for day in days)


def status_now(function: Function, unit: Unit, device_class: DeviceClass) -> Status:
    """Return the status that counts today: voided tests and functions not mentioned are untested.

    A voided fault stays a fault: an opening can make "works" doubtful, not a defect disappear.
    """
    if not is_fitted(function, unit):
        return "not fitted"
    test = unit.functions.get(function.name)
    if test is None:
        return "untested"
    if test.status != "works":
        return test.status
    if function.restart and test.restarted is False:
        return "untested"
    return "untested" if voided_by_opening(function.name, unit, device_class) else "works"


def surfaces_of(unit: Unit, device_class: DeviceClass) -> tuple[Surface, ...]:
    """Return the surfaces that the unit has: one that belongs to a function is not there without it."""
    functions = device_class.functions_by_name
    return tuple(
        surface
        for surface in device_class.surfaces
        if surface.function not in functions or is_fitted(functions[surface.function], unit)
    )


def grade_of(unit: Unit, device_class: DeviceClass) -> Grade:
    """Return the grade computed from the marks, or "not graded" when a surface was not looked at."""
    looked_at = {*unit.looked_at, *(mark.surface for mark in unit.marks)} - set(unit.covered)
    there = surfaces_of(unit, device_class)
    if not there or any(surface.name not in looked_at for surface in there):
        return "not graded"
    total = sum(mark.count for mark in unit.marks)
    seen = sum(mark.count for mark in unit.marks if mark.visible_at_arms_length is not False)
    # A mark that was not measured counts as too long for A: silence must not improve the look.
    longest = max((mark.size_mm if mark.size_mm is not None else 6.0 for mark in unit.marks), default=0.0)
    kinds = {mark.kind for mark in unit.marks}
    for step in device_class.grade_rule.steps:
        within = total <= step.marks and seen <= step.at_arms_length and longest <= step.longest_mm
        if within and not kinds & set(step.never):
            return step.grade
    return "D"
