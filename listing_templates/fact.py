"""One fact about a unit, with its origin."""

from __future__ import annotations

from datetime import date
from functools import cached_property
from typing import Literal

from pricing.records.base import Record
from pricing.records.unit import Mark

Source = Literal["recorded", "computed", "not mentioned"]


class Fact(Record):
    """One thing that is known, or known to be not known.

    Attributes:
        key: Such as "function:camera_wide"; each once per unit.
        label: What a listing calls its subject.
        state: What is the case: a status, an origin, a value.
        detail: What belongs to the state: a symptom, a unit of measure, what a lock means.
        source: recorded by a person; computed from records; or not mentioned by anybody.
        day: Day of the test, check or fitting.
        way: How it was found.
        because: Key of the fact that decides this one (a dead gate, the opening); "stale" with a check too long ago.
        marks: With a mark: the blemishes of this kind on this surface.
        kin: With a function: its kin; with an attribute: its kind.
        weight: With a function: how much buyers care, 1 to 3; else 0.
        hidden: A buyer cannot see it from outside.
        danger: It can hurt somebody, or stops the sale as a whole unit.
    """

    key: str
    label: str
    state: str
    detail: str | None = None
    source: Source = "recorded"
    day: date | None = None
    way: str | None = None
    because: str | None = None
    marks: tuple[Mark, ...] = ()
    kin: str = ""
    weight: int = 0
    hidden: bool = False
    danger: bool = False

    @cached_property
    def noun(self) -> str:
        """The first word of the key: "function", "mark", "opened"."""
        return self.key.split(":", 1)[0]

    @cached_property
    def name(self) -> str:
        """The key without its noun: "camera_wide"."""
        return self.key.partition(":")[2]

    @cached_property
    def thing(self) -> str:
        """Key of what it is about: of a mark its surface, of a part without the number of its second fitting."""
        return f"surface:{self.name.rsplit(':', 1)[0]}" if self.noun == "mark" else ":".join(self.key.split(":")[:2])

    @property
    def says(self) -> str:
        """The fact in a line, for the bench: "ultra-wide camera: dead (2026-03-03)"."""
        found = [str(piece) for piece in (self.detail, self.way, self.day) if piece is not None]
        return f"{self.label}: {self.state}" + (f" ({', '.join(found)})" if found else "")
