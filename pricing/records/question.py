"""The intake of a unit: questions in the order of the bench, and the answers to them."""

from __future__ import annotations

from datetime import date
from typing import Literal

from pydantic import Field

from pricing.records.base import Record

QuestionState = Literal["open", "answered", "void", "cannot be tested"]
NONE = "none"


class Question(Record):
    """One question of the intake.

    Attributes:
        key: What it is about, as the fact is called: "function:wifi", "surface:screen", "lock:owner_account".
        station: What is in the hand; questions of one station stand together.
        ask: The question in a line.
        how: How to find out.
        answers: What may be answered; empty: words of one's own.
        symptoms: What "works poorly" can look like; that answer needs one, or words of one's own.
        minutes: How long it takes.
        gate: Others cannot be tested without it.
        restart: It counts only after a restart.
        state: open; answered; void because of an opening or a missing restart; or not to be tested because of
            something dead.
        answer: What was answered so far; identities masked.
        because: Key of what makes it void or keeps it from being tested.
    """

    key: str
    station: str
    ask: str
    how: str = ""
    answers: tuple[str, ...] = ()
    symptoms: tuple[str, ...] = ()
    minutes: float = 0
    gate: bool = False
    restart: bool = False
    state: QuestionState = "open"
    answer: str | None = None
    because: str | None = None


class Answer(Record):
    """One answer, with what belongs to it.

    Attributes:
        key: Of the question.
        answer: A word that the question allows, or words of one's own; several are parted by ";".
        symptom: What works poorly.
        day: Of the test, check, fitting, opening or erasure; None: the day on which answers are taken.
        minutes: Length of the test.
        restarted, left_in_place: Of a test and a removed part.
        way: How a lock was checked, how an erasure was verified, whether a share was reported or measured, where was
            looked for corrosion, what was found out of a supply's power and plug.
        size_mm, count, at_arms_length: Of a mark.
        by: Name of who answers, where a name is asked for.
        line: Line of the file; None: no file with lines.
    """

    key: str = Field(min_length=1, max_length=200)
    answer: str = Field(max_length=2000)
    symptom: str | None = None
    day: date | None = None
    minutes: float | None = Field(default=None, ge=0)
    restarted: bool | None = None
    left_in_place: bool | None = None
    way: str | None = None
    size_mm: float | None = Field(default=None, gt=0, le=2000)
    count: int | None = Field(default=None, ge=1, le=1000)
    at_arms_length: bool | None = None
    by: str | None = None
    line: int | None = None

    @property
    def words(self) -> tuple[str, ...]:
        """The answer as several words, "none" left out."""
        parts = (part.strip() for part in self.answer.split(";"))
        return tuple(part for part in parts if part and part.casefold() != NONE)


class Answers(Record):
    """Answers as a JSON file or a request holds them."""

    answers: tuple[Answer, ...] = Field(max_length=2000)


class Intake(Record):
    """Where the intake of a unit stands.

    Attributes:
        device_class: Name of the class.
        questions: All of them, in the order of the bench.
        open: How many are open or void; what cannot be tested is not counted.
        minutes: What the open ones take.
        before_closing: What is read out before the unit is closed.
        stops: What must not be done with it as it is, and why.
    """

    device_class: str
    questions: tuple[Question, ...]
    open: int
    minutes: float
    before_closing: tuple[str, ...]
    stops: tuple[str, ...] = ()
