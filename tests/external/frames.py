"""Open data sets as sales of a device class: numbers stay numbers, words become choices."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import ConditionTable, SalesTable, TextColumn


def is_number(column: pd.Series) -> bool:
    return column.dtype.kind in "if"


def class_of(frame: pd.DataFrame, logs: tuple[str, ...] = ()) -> DeviceClass:
    """Return the class whose attributes are the frame's columns, ``price`` apart; ``logs`` are on a log scale."""
    attributes = [
        {
            "name": name,
            "kind": "number" if is_number(frame[name]) else "choice",
            "scale": "log" if name in logs else "linear",
        }
        for name in frame.columns
        if name != "price"
    ]
    return DeviceClass.model_validate({"name": "set", "attributes": attributes})


def condition_of(frame: pd.DataFrame) -> ConditionTable:
    """Return the frame's columns as those of units."""
    names = [name for name in frame.columns if name != "price"]
    return ConditionTable(
        rows=len(frame),
        numbers={name: frame[name].to_numpy(np.float64) for name in names if is_number(frame[name])},
        texts={
            name: TextColumn.from_words([str(word) for word in frame[name]])
            for name in names
            if not is_number(frame[name])
        },
    )


def sales_of(frame: pd.DataFrame) -> SalesTable:
    """Return the frame as paid sales."""
    nothing = np.zeros(len(frame), dtype=np.bool_)
    return SalesTable(
        condition=condition_of(frame),
        price=frame["price"].to_numpy(np.float64),
        currency="",
        asked=nothing,
        refunded=nothing,
    )
