"""Many units or sales as frozen columns: never one object per row.

Prices are float64 here, not Decimal: a column feeds the price model, where only logarithms of it are used.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int32]
DayArray = NDArray[np.datetime64]

NOT_STATED = -1
_ONE_STATED, _ONE_BLANK = np.zeros(1, dtype=np.int32), np.full(1, NOT_STATED, dtype=np.int32)
_ONE_STATED.flags.writeable = _ONE_BLANK.flags.writeable = False


@dataclass(frozen=True, eq=False)
class TextColumn:
    """A column of words.

    Attributes:
        codes: int32, shape (rows,): index into ``levels``; -1 where the cell is blank (not stated).
        levels: The distinct words; order has no meaning.
    """

    codes: IntArray
    levels: tuple[str, ...]

    @classmethod
    def from_words(cls, words: Sequence[str | None]) -> TextColumn:
        """Return the column of these words; None and "" are not stated."""
        if len(words) == 1:  # a unit by itself: no need to sort
            return cls(codes=_ONE_STATED, levels=(words[0],)) if words[0] else cls(codes=_ONE_BLANK, levels=())
        levels = tuple(sorted({word for word in words if word}))
        index = {level: code for code, level in enumerate(levels)}
        codes = np.array([index[word] if word else NOT_STATED for word in words], dtype=np.int32)
        return cls(codes=codes, levels=levels)

    @property
    def rows_stated(self) -> int:
        """Number of rows that state something."""
        return int(np.count_nonzero(self.codes != NOT_STATED))

    def word(self, row: int) -> str | None:
        """Return the word of one row, None where not stated."""
        code = int(self.codes[row])
        return None if code == NOT_STATED else self.levels[code]

    def take(self, rows: NDArray[np.intp] | BoolArray | slice) -> TextColumn:
        """Return the column of the chosen rows, levels unchanged."""
        return TextColumn(codes=self.codes[rows], levels=self.levels)


def _no_text() -> Mapping[str, TextColumn]:
    return MappingProxyType({})


@dataclass(frozen=True, eq=False)
class ConditionTable:
    """Specifications and condition of many units, sold or not.

    Attributes:
        rows: Number of units.
        numbers: Number attributes and "battery_share" (percent of design), float64 with NaN for not stated.
        texts: Choice and group attributes, and of the contract's columns "opened", "channel", "country",
            "price_includes_postage" (yes, no) where the file has them.
        faults: Function -> column of statuses ("works", ..., "not fitted").
        marks: Surface -> column of kinds; "none" looked at and clean, "covered" not looked at; several marks
            on one surface are joined by "+" ("dent+scratch").
        parts: Part -> column of origins.
        locks: Lock -> column of states.
        sold_as: working, faulty or parts; None when the file has no such column.
        sold_on: Day of the sale (datetime64[D], NaT for not dated); for units the day to be priced for.
    """

    rows: int
    numbers: Mapping[str, FloatArray] = field(default_factory=lambda: MappingProxyType({}))
    texts: Mapping[str, TextColumn] = field(default_factory=_no_text)
    faults: Mapping[str, TextColumn] = field(default_factory=_no_text)
    marks: Mapping[str, TextColumn] = field(default_factory=_no_text)
    parts: Mapping[str, TextColumn] = field(default_factory=_no_text)
    locks: Mapping[str, TextColumn] = field(default_factory=_no_text)
    sold_as: TextColumn | None = None
    sold_on: DayArray | None = None

    def __post_init__(self) -> None:
        columns: list[NDArray[np.generic]] = list(self.numbers.values())
        for group in (self.texts, self.faults, self.marks, self.parts, self.locks):
            columns += [column.codes for column in group.values()]
        columns += [] if self.sold_as is None else [self.sold_as.codes]
        columns += [] if self.sold_on is None else [self.sold_on]
        if any(len(column) != self.rows for column in columns):
            raise ValueError(f"every column must have {self.rows} rows")

    def take(self, rows: NDArray[np.intp] | BoolArray) -> ConditionTable:
        """Return the table of the chosen rows."""
        return self._chosen(rows, int(np.count_nonzero(rows)) if rows.dtype == np.bool_ else len(rows))

    def part(self, rows: slice) -> ConditionTable:
        """Return the table of neighbouring rows; its columns are views, nothing is copied."""
        count = len(range(*rows.indices(self.rows)))
        return self if count == self.rows and (rows.step or 1) > 0 else self._chosen(rows, count)

    def _chosen(self, rows: NDArray[np.intp] | BoolArray | slice, count: int) -> ConditionTable:
        chosen: dict[str, object] = {}
        for item in fields(self):
            value = getattr(self, item.name)
            if isinstance(value, Mapping):
                taken = {
                    name: column.take(rows) if isinstance(column, TextColumn) else column[rows]
                    for name, column in value.items()
                }
                chosen[item.name] = MappingProxyType(taken)
            elif isinstance(value, TextColumn):
                chosen[item.name] = value.take(rows)
            elif isinstance(value, np.ndarray):
                chosen[item.name] = value[rows]
        return replace(self, rows=count, **chosen)  # type: ignore[arg-type]


@dataclass(frozen=True, eq=False)
class SalesTable:
    """Observed prices with what was sold.

    Attributes:
        condition: What each sale was of, and when.
        price: float64, above 0, in ``currency``.
        currency: ISO 4217 code of the base currency, "" when the file names none and none was given.
        asked: True where the price was only asked (also still listed or withdrawn without a sale).
        refunded: True where the sale was undone; such rows are kept but never fitted.
        ask, listed_on, withdrawn_on, still_listed: The listing's history, where the file has it.
        line: 1-based line of each row in its file.
    """

    condition: ConditionTable
    price: FloatArray
    currency: str
    asked: BoolArray
    refunded: BoolArray
    ask: FloatArray | None = None
    listed_on: DayArray | None = None
    withdrawn_on: DayArray | None = None
    still_listed: BoolArray | None = None
    line: NDArray[np.int64] | None = None

    def __post_init__(self) -> None:
        rows = self.condition.rows
        if not len(self.price) == len(self.asked) == len(self.refunded) == rows:
            raise ValueError(f"price, asked and refunded must have {rows} rows")
        if rows and not bool(np.all(np.isfinite(self.price) & (self.price > 0))):
            raise ValueError("every price must be a finite number above 0")

    @property
    def rows(self) -> int:
        """Number of sales."""
        return self.condition.rows

    def take(self, rows: NDArray[np.intp] | BoolArray) -> SalesTable:
        """Return the table of the chosen rows."""
        chosen = {
            item.name: getattr(self, item.name)[rows]
            for item in fields(self)
            if isinstance(getattr(self, item.name), np.ndarray)
        }
        return replace(self, condition=self.condition.take(rows), **chosen)
