"""The intake of a unit: what is still to be looked at, with the cautions before each stage, and the answers taken."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from api.shop.files import write_text
from api.shop.shop import Shop
from api.shop.units import change_unit, get_unit
from data.importing.answers_file import read_answers
from data.storage.units import StoredUnit
from listing_templates.cautions import Situation, cautions_for, told
from pricing.decisions.intake_answers import Taken, take_answers
from pricing.decisions.intake_questions import intake_of
from pricing.errors import Problem, refused
from pricing.records.device_class import DeviceClass
from pricing.records.question import Answer, Intake
from pricing.records.stops import with_checks_of_today
from pricing.records.unit import Unit
from pricing.records.unit_columns import check_unit

STAGES: tuple[Situation, ...] = ("look", "power", "open")


@dataclass(frozen=True)
class IntakeSheet:
    """What is asked of a unit.

    Attributes:
        unit_number: The unit's number; None: it has none yet.
        version: Of the stored unit; None: it is not in the store.
        intake: The questions and where they stand.
        cautions: "look", "power" and "open" -> what to heed before it.
    """

    unit_number: str | None
    version: int | None
    intake: Intake
    cautions: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class AnswersKept:
    """A stored unit with the answers in it, and what was wrong with those that were left out."""

    stored: StoredUnit
    problems: tuple[Problem, ...]


def sheet_for(unit: Unit, device_class: DeviceClass, *, on: date, version: int | None = None) -> IntakeSheet:
    """Return what is still asked of a unit on a day, and what was answered.

    Raises:
        BadInput: The unit does not fit its class.
    """
    check_unit(unit, device_class)
    today = with_checks_of_today(unit, device_class, on)
    cautions: dict[str, tuple[str, ...]] = {
        stage: told(cautions_for(today, device_class, stage)) for stage in STAGES
    }
    return IntakeSheet(unit.number, version, intake_of(today, device_class), cautions)


def sheet_of(shop: Shop, number: str) -> IntakeSheet:
    """Return what is still asked of a stored unit.

    Raises:
        NotFound: No unit has this number, or its class is gone.
    """
    stored = get_unit(shop, number)
    device_class = shop.class_called(stored.unit.device_class)
    return sheet_for(stored.unit, device_class, on=shop.today, version=stored.version)


def read_answers_file(path: Path) -> tuple[Answer, ...]:
    """Return the answers in a JSON or CSV file.

    Raises:
        NotFound: There is no such file.
        BadInput: It cannot be read, or holds something that is no answer; one Problem for each mistake.
    """
    return read_answers(path)


def answered(
    unit: Unit, device_class: DeviceClass, answers: Sequence[Answer], *, on: date, source: str, keep_good: bool = False
) -> Taken:
    """Return the unit with the answers in it; with ``keep_good`` bad ones are left out and told.

    Raises:
        BadInput: An answer is bad and ``keep_good`` is not set, or the unit does not fit its class.
    """
    check_unit(unit, device_class)
    taken = take_answers(unit, device_class, answers, on=on, source=source)
    if taken.problems and not keep_good:
        raise refused(source, taken.problems)
    return taken


def answer_stored(
    shop: Shop,
    number: str,
    answers: Sequence[Answer],
    *,
    source: str = "request",
    version: int | None = None,
    on: date | None = None,
    keep_good: bool = False,
) -> AnswersKept:
    """Put answers into a stored unit, which gets a new version.

    Args:
        shop: Whose store it is.
        number: Of the unit.
        answers: In any order.
        source: Names the file in problems.
        version: The version that is changed; None: the one that is there.
        on: Day of answers that state none; None: today.
        keep_good: Leave bad answers out instead of taking none.

    Raises:
        NotFound: No unit has this number, or its class is gone.
        BadInput: An answer is bad and ``keep_good`` is not set.
        StaleVersion: The unit was changed meanwhile.
    """
    stored = get_unit(shop, number)
    device_class = shop.class_called(stored.unit.device_class)
    taken = answered(
        stored.unit, device_class, answers, on=on or shop.today, source=source, keep_good=keep_good
    )
    changed = change_unit(shop, taken.unit, stored.version if version is None else version)
    return AnswersKept(changed, taken.problems)


def write_unit(path: Path, unit: Unit) -> None:
    """Write a unit as JSON, whole or not at all; its numbers stand there in full, as in any unit file.

    Raises:
        BadInput: The place cannot be written.
    """
    write_text(path, unit.model_dump_json(by_alias=True, exclude_defaults=True, indent=2) + "\n")
