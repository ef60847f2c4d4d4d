"""How the questions of an intake read on a screen, and what they are as JSON."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from api.cli.output import say, show_heading
from api.shop.intake import IntakeSheet
from pricing.errors import counted
from pricing.records.question import Question

# Cautions of a stage stand before the first question of one of these stations.
_STAGE_BEFORE = {"danger look": "look", "gates": "power", "inside": "open"}
_BEFORE = {"look": "Before you touch it", "power": "Before you switch it on", "open": "Before you open it"}
_STATES = {"void": "void, ask again", "cannot be tested": "cannot be tested", "answered": "answered"}


def sheet_values(sheet: IntakeSheet) -> dict[str, Any]:
    """Return the questions of an intake as plain values for JSON."""
    return {
        "unit_number": sheet.unit_number,
        "version": sheet.version,
        "cautions": {stage: list(words) for stage, words in sheet.cautions.items()},
        **sheet.intake.model_dump(mode="json"),
    }


def tell_sheet(sheet: IntakeSheet, *, every: bool) -> None:
    """Print what must not be done, then the open questions by station; ``every``: the answered ones too."""
    intake = sheet.intake
    for stop in intake.stops:
        say(f"stop: {stop}")
    cautions = dict(sheet.cautions)
    for station, of_station in groupby(intake.questions, key=lambda question: question.station):
        asked = [question for question in of_station if every or question.state in ("open", "void")]
        if not asked:
            continue
        show_heading(station)
        stage = _STAGE_BEFORE.get(station, "")
        if told := cautions.pop(stage, ()):
            say(f"{_BEFORE[stage]}:", *(f"- {words}" for words in told))
        for question in asked:
            _tell_question(question)
    show_heading("before closing")
    say(*(f"- {line}" for line in intake.before_closing))
    minutes = f"about {intake.minutes:.0f} minutes" if intake.minutes else "no time"
    say("", f"{counted(intake.open, 'question')} open of {len(intake.questions)}, {minutes}.")


def _tell_question(question: Question) -> None:
    state = _STATES.get(question.state)
    because = f", because of {question.because}" if question.because else ""
    said = f" ({state}{because})" if state else ""
    answer = f" So far: {question.answer}." if question.answer else ""
    say(f"{question.key}{said}", f"   {question.ask}{answer}")
    details = [question.how, " / ".join(question.answers)]
    if question.symptoms:
        details.append(f"impaired may be: {'; '.join(question.symptoms)}")
    if question.restart:
        details.append("counts only after a restart")
    say(*(f"   {detail}" for detail in details if detail))
