"""The grade of the look: A, B, C or D, computed from marks by a rule that is data; never typed in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field

from pricing.records.base import Record

Grade = Literal["A", "B", "C", "D", "not graded"]


class GradeStep(Record):
    """The limits within which a unit still has this grade.

    Attributes:
        grade: A, B or C; what exceeds all steps is D.
        marks: Most marks, counted with their number.
        longest_mm: Longest single mark in mm.
        at_arms_length: Most marks seen at arm's length.
        never: Kinds of mark that exclude the grade.
        words: What the grade means, always shown with it.
    """

    grade: Literal["A", "B", "C"]
    marks: int = Field(ge=0)
    longest_mm: float = Field(ge=0)
    at_arms_length: int = Field(ge=0)
    never: tuple[str, ...] = ()
    words: str


_BREAKS = ("crack", "chip", "gap", "lifted edge", "missing piece")


class GradeRule(Record):
    """Steps from best to worst, and the words of D and "not graded". Limits: common practice, no source."""

    steps: tuple[GradeStep, ...] = (
        GradeStep(grade="A", marks=2, longest_mm=5, at_arms_length=0, never=(*_BREAKS, "dent"),
                  words="at most two small marks, none seen at arm's length"),
        GradeStep(grade="B", marks=6, longest_mm=30, at_arms_length=2, never=_BREAKS,
                  words="light marks, at most two seen at arm's length"),
        GradeStep(grade="C", marks=15, longest_mm=80, at_arms_length=15, never=("crack", "missing piece"),
                  words="clear marks all round, nothing cracked or missing"),
    )  # fmt: skip
    words_d: str = "heavy marks, or something cracked or missing"
    words_not_graded: str = "not graded, because not every surface was looked at uncovered"

    def words(self, grade: Grade) -> str:
        """Return what the grade means."""
        if grade == "not graded":
            return self.words_not_graded
        meanings: Mapping[str, str] = {step.grade: step.words for step in self.steps}
        return meanings.get(grade, self.words_d)


MarkSize = Annotated[float, Field(gt=0, le=2000)]
