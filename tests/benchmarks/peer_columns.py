"""Columns of a set as matrices for the peers. A level that the training rows lack is never an error.

Codings of words: ``one-hot`` (a column for each level; an unknown level is a row of zeros), ``reference`` (the same
without the first level, with a constant), ``codes`` (one column of level numbers in alphabetical order, an unknown
level gets the next number) and ``ordered`` (level numbers by the level's mean log price, an unknown level gets the
middle). ``ordered`` looks at the prices, so only methods that check nothing on the same rows may use it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from pricing.records.device_class import DeviceClass
from tests.external.frames import is_number


def logged(frame: pd.DataFrame, device_class: DeviceClass) -> pd.DataFrame:
    """Return the frame with the logs of those numbers that the class has on a log scale."""
    names = [each.name for each in device_class.attributes if each.kind == "number" and each.scale == "log"]
    return frame.assign(**{name: np.log(frame[name].to_numpy(float)) for name in names})


@dataclass(frozen=True)
class Columns:
    """How one training frame becomes a matrix; ``levels`` of each column of words in the coding's order."""

    coding: str
    numbers: tuple[str, ...]
    levels: dict[str, tuple[str, ...]]

    def matrix(self, frame: pd.DataFrame) -> np.ndarray:
        """Return shape (rows, columns): numbers first, then words."""
        found = [frame[name].to_numpy(float) for name in self.numbers]
        for name, levels in self.levels.items():
            words = frame[name].astype(str)
            if self.coding in ("codes", "ordered"):
                place = {level: code for code, level in enumerate(levels)}
                unknown = len(levels) if self.coding == "codes" else (len(levels) - 1) / 2
                found.append(np.array([place.get(word, unknown) for word in words], dtype=float))
            else:
                shown = levels[1:] if self.coding == "reference" else levels
                found += [(words == level).to_numpy(float) for level in shown]
        if self.coding == "reference":
            found.insert(0, np.ones(len(frame)))
        return np.column_stack(found)

    @property
    def places_of_codes(self) -> list[int]:
        """Return which columns hold level numbers."""
        first = len(self.numbers)
        return list(range(first, first + len(self.levels))) if self.coding == "codes" else []


def learn_columns(frame: pd.DataFrame, price_log: np.ndarray, coding: str) -> Columns:
    """Return the coding of the frame's columns, ``price`` apart."""
    names = [name for name in frame.columns if name != "price"]
    numbers = tuple(name for name in names if is_number(frame[name]))
    levels = {}
    for name in (each for each in names if each not in numbers):
        means = pd.Series(price_log).groupby(frame[name].astype(str).to_numpy()).mean()
        order = means.sort_values(kind="stable") if coding == "ordered" else means.sort_index()
        levels[name] = tuple(str(level) for level in order.index)
    return Columns(coding, numbers, levels)
