"""A small invented market of ``small_class``: sales as columns, drawn from effects that are known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.records.sales_table import ConditionTable, SalesTable, TextColumn
from tests.builders import small_class

BRANDS = ("Arvel", "Onda", "Tessa", "Umbra")
NOISE_LOG = 0.08
FIRST_DAY = np.datetime64("2025-01-01", "D")
# A unit that does not start is worth less than any other; what hangs on starting then counts no more.
DEAD_GATE_LOG = -0.9
FAULT_LOG = {"camera_main": -0.35, "camera_wide": -0.12, "wifi": -0.25, "loudspeaker": -0.07}


def words(*cells: str | None) -> TextColumn:
    """Return a column of these cells."""
    return TextColumn.from_words(cells)


def table_of(rows: int = 1, **fields: Any) -> ConditionTable:
    """Return a table of units; columns of faults, marks and the like may be given as lists of words."""
    whole: dict[str, Any] = {}
    for name, value in fields.items():
        if isinstance(value, Mapping):
            whole[name] = {key: _column(each, name) for key, each in value.items()}
        else:
            whole[name] = words(*value) if isinstance(value, list) else value
    return ConditionTable(rows=rows, **whole)


def _column(cells: Any, field: str) -> Any:
    if field == "numbers":
        return np.asarray(cells, dtype=np.float64)
    return words(*cells) if isinstance(cells, list | tuple) else cells


def sales_of(price: Sequence[float], **fields: Any) -> SalesTable:
    """Return paid sales with these prices and columns."""
    rows = len(price)
    none = np.zeros(rows, dtype=np.bool_)
    return SalesTable(table_of(rows, **fields), np.asarray(price, dtype=np.float64), "EUR", none, none)


def small_sales(rows: int = 240, seed: int = 0) -> SalesTable:
    """Return sales of the small class: three models a brand, faults on four functions, marks, locks and parts."""
    rng = np.random.default_rng(seed)
    brand, model = rng.integers(0, len(BRANDS), rows), rng.integers(0, 3, rows)
    storage = rng.choice([64.0, 128.0, 256.0, 512.0], rows)
    day = rng.integers(0, 400, rows)
    level = 5.0 + np.array([0.0, 0.3, -0.2, 0.1])[brand] + np.array([0.0, 0.15, -0.1])[model]
    level += 0.15 * np.log2(storage / 64) - 0.15 * day / 365
    off = rng.random(rows) < 0.03
    faults = {"power_on": words(*np.where(off, "dead", "works"))}
    level += DEAD_GATE_LOG * off
    hanging = {function.name for function in small_class().functions if function.requires}
    for name, effect in FAULT_LOG.items():
        drawn = _drawn(rng, rows, "works", "dead", "untested")
        counts = ~off | (name not in hanging)
        level += counts * (effect * (drawn == "dead") + 0.4 * effect * (drawn == "untested"))
        faults[name] = words(*_blanked(rng, drawn))
    cracked = _drawn(rng, rows, "none", "crack", "scratch")
    level += -0.2 * (cracked == "crack") - 0.02 * (cracked == "scratch")
    origin = _drawn(rng, rows, "original", "third-party", "salvaged")
    level += -0.06 * (origin != "original")
    locked = _drawn(rng, rows, "free", "locked", "not checked")
    level += -0.8 * (locked == "locked") - 0.05 * (locked == "not checked")
    asked = rng.random(rows) < 0.15
    condition = table_of(
        rows,
        numbers={"storage_gb": storage},
        texts={"brand": np.array(BRANDS)[brand].tolist(), "model": [f"N{number}" for number in model]},
        faults=faults,
        marks={"screen": _blanked(rng, cracked)},
        parts={"screen": _blanked(rng, origin)},
        locks={"owner_account": locked.tolist()},
        sold_on=FIRST_DAY + day.astype("timedelta64[D]"),
    )
    price = np.exp(level + 0.1 * asked + NOISE_LOG * rng.standard_normal(rows))
    return SalesTable(condition, price, "EUR", asked, np.zeros(rows, dtype=np.bool_))


def _drawn(rng: np.random.Generator, rows: int, *states: str) -> NDArray[np.str_]:
    return rng.choice(np.array(states), rows, p=[0.8, 0.12, 0.08])


def _blanked(rng: np.random.Generator, cells: NDArray[np.str_]) -> list[str | None]:
    silent = rng.random(len(cells)) < 0.2
    return [None if blank else str(cell) for cell, blank in zip(cells, silent, strict=True)]


def repriced(sales: SalesTable, price: Any) -> SalesTable:
    """Return the same sales at other prices."""
    return replace(sales, price=np.asarray(price, dtype=np.float64))


def with_condition(sales: SalesTable, **fields: Any) -> SalesTable:
    """Return the sales with other columns of what was sold."""
    return replace(sales, condition=replace(sales.condition, **fields))


def same_columns(rows: int, **word_of: str) -> dict[str, TextColumn]:
    """Return columns that say one word in every row: name -> word."""
    return {name: words(*[word] * rows) for name, word in word_of.items()}
