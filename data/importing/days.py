"""Days as they stand in files: ISO 8601, nothing else."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np

from data.importing.text_table import WordColumn
from pricing.records.sales_table import DayArray

_SHAPE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
FIRST_YEAR = 1970


@dataclass(frozen=True, eq=False)
class Days:
    """A column of days: datetime64[D] with NaT where not stated or bad, and the words that are none."""

    values: DayArray
    bad_words: Mapping[int, str]


def read_days(column: WordColumn, latest: date | None) -> Days:
    """Read one column of days.

    Args:
        column: The words.
        latest: A day after this one is refused; None: any day will do.
    """
    values = np.full(len(column.words), np.datetime64("NaT", "D"))
    bad: dict[int, str] = {}
    for place, word in enumerate(column.stripped):
        if not word:
            continue
        day = _day(word)
        if day is None:
            bad[place] = "a day as YYYY-MM-DD"
        elif day.year < FIRST_YEAR:
            bad[place] = f"a day from {FIRST_YEAR} on"
        elif latest is not None and day > latest:
            bad[place] = f"a day not after today, {latest.isoformat()}"
        else:
            values[place] = np.datetime64(day, "D")
    chosen: DayArray = values[column.codes]
    return Days(chosen, bad)


def _day(word: str) -> date | None:
    if not _SHAPE.fullmatch(word):
        return None
    try:
        return date.fromisoformat(word)
    except ValueError:
        return None
