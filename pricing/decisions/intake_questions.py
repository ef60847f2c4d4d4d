"""The checklist of a unit from its class, in the order of the bench.

Danger is looked for before any power; then come identity, gates, functions by what is in the hand, surfaces, the
inside, data, locks (which count only after erasing), and what goes with it. Behind a dead gate nothing can be tested.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import get_args

from pricing.decisions.intake_asks import asks_inside, asks_of_data, asks_of_identity, asks_on_sight, asks_with_it
from pricing.records.device_class import DeviceClass, Function
from pricing.records.gates import blocker_of
from pricing.records.question import Intake, Question, QuestionState
from pricing.records.stops import stops_of
from pricing.records.unit import Origin, Status, Unit, status_now, surfaces_of, voided_by_opening

STATIONS: tuple[str, ...] = (
    "gates", "start", "screen", "cable", "card and SIM", "sound", "lenses", "sensors", "keys", "radio", "look", "soak",
)  # fmt: skip
LOCK_ANSWERS = ("free", "locked", "not checked")
SURFACE_ANSWERS = ("clean", "covered")


def intake_of(unit: Unit, device_class: DeviceClass) -> Intake:
    """Return every question on the unit with what was answered so far, and what must not be done with it."""
    questions = tuple(questions_of(unit, device_class))
    still_open = [question for question in questions if question.state in ("open", "void")]
    return Intake(
        device_class=device_class.name,
        questions=questions,
        open=len(still_open),
        minutes=sum(question.minutes for question in still_open),
        before_closing=tuple(line.ask for line in device_class.before_closing),
        stops=tuple(f"{stop.reason} Not until: {stop.lifted_by}." if stop.lifted_by else stop.reason
                    for stop in stops_of(unit, device_class)),
    )  # fmt: skip


def questions_of(unit: Unit, device_class: DeviceClass) -> Iterator[Question]:
    """Yield every question on the unit, in the order of the bench."""
    yield from asks_on_sight(unit, device_class)
    yield from asks_of_identity(unit, device_class)
    yield from _functions(unit, device_class)
    yield from _surfaces(unit, device_class)
    yield from asks_inside(unit, device_class)
    yield from _parts(unit, device_class)
    yield from asks_of_data(unit, device_class)
    yield from _locks(unit, device_class)
    yield from asks_with_it(unit)


def _functions(unit: Unit, device_class: DeviceClass) -> Iterator[Question]:
    statuses = {function.name: status_now(function, unit, device_class) for function in device_class.functions}
    ordered = sorted(device_class.functions, key=_station_place)
    for function in ordered:
        yield _function(function, statuses, unit, device_class)


def _station_place(function: Function) -> int:
    station = "gates" if function.gate else function.station or "look"
    return STATIONS.index(station) if station in STATIONS else len(STATIONS)


def _function(function: Function, statuses: dict[str, Status], unit: Unit, device_class: DeviceClass) -> Question:
    status, test = statuses[function.name], unit.functions.get(function.name)
    blocker = blocker_of(function, statuses, device_class)
    state: QuestionState = "open" if test is None or test.status == "untested" else "answered"
    because = None
    if status == "not fitted":
        state = "answered"
    elif test is not None and test.status == "works" and status == "untested":
        state = "void"
        because = "opened" if voided_by_opening(function.name, unit, device_class) else "restart"
    if state in ("open", "void") and blocker is not None:
        state, because = "cannot be tested", f"function:{blocker}"
    fitted = ("not fitted",) if function.optional or function.fitted_if else ()
    answer = status if test is None or test.symptom is None else f"{status}: {test.symptom}"
    return Question(
        key=f"function:{function.name}",
        station="gates" if function.gate else function.station or "look",
        ask=f"Does it work: {function.title}?",
        how=function.how_to_test,
        answers=("works", "impaired", "dead", "removed", "untested", *fitted),
        symptoms=function.symptoms,
        minutes=function.minutes,
        gate=function.gate,
        restart=function.restart,
        state=state,
        answer=None if test is None and status != "not fitted" else answer,
        because=because,
    )


def _surfaces(unit: Unit, device_class: DeviceClass) -> Iterator[Question]:
    marked = {mark.surface for mark in unit.marks}
    for surface in surfaces_of(unit, device_class):
        kinds = [mark.kind for mark in unit.marks if mark.surface == surface.name]
        covered = ["covered"] if surface.name in unit.covered else []
        seen = [*covered, *dict.fromkeys(kinds)] or (["clean"] if surface.name in unit.looked_at else [])
        answered = surface.name in {*unit.looked_at, *unit.covered, *marked}
        may_cover = f" May be covered by {' or '.join(surface.covered_by)}." if surface.covered_by else ""
        yield Question(
            key=f"surface:{surface.name}",
            station="surfaces",
            ask=f"What marks are there: {surface.title}?",
            how=f"Look at it uncovered, in bright light; measure each mark.{may_cover}",
            answers=(*SURFACE_ANSWERS, *device_class.fault_prior.marks),
            minutes=0.5,
            state="answered" if answered else "open",
            answer="; ".join(seen) or None,
        )


def _parts(unit: Unit, device_class: DeviceClass) -> Iterator[Question]:
    changed = {fitted.part: fitted.origin for fitted in unit.parts}
    none = "parts" in unit.answered_none or unit.opened == "no sign"
    yield Question(
        key="parts",
        station="inside",
        ask="Were parts changed? Answer none here, or a row part:NAME for each.",
        how="Marks, adhesive, messages, the seller's papers.",
        answers=("none",),
        minutes=1,
        state="answered" if changed or none else "open",
        answer="none" if none and not changed else None,
    )
    for name, origin in changed.items():
        title = device_class.parts_by_name[name].title if name in device_class.parts_by_name else name
        yield Question(
            key=f"part:{name}",
            station="inside",
            ask=f"Where is this part from: {title}?",
            answers=get_args(Origin),
            state="open" if origin == "unknown" else "answered",
            answer=origin,
        )


def _locks(unit: Unit, device_class: DeviceClass) -> Iterator[Question]:
    for lock in device_class.locks:
        check = unit.locks.get(lock.name)
        known = check is not None and check.state != "not checked"
        old = check is not None and check.has_grown_old
        days = "" if lock.days is None else f" The check counts for {lock.days} days."
        yield Question(
            key=f"lock:{lock.name}",
            station="locks",
            ask=f"Is it free of this lock: {lock.title}?",
            how=lock.how_to_check + days,
            answers=LOCK_ANSWERS,
            minutes=2,
            state="answered" if known else "void" if old else "open",
            answer=None if check is None else check.state,
            because="stale" if old else None,
        )
